"""The loop that follows a job, and what feeds it."""
