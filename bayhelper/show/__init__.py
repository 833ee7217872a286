"""The job for people: records on paper and screen."""
