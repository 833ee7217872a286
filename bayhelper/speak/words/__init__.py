"""The words of every sentence, one module a subject, as in terms.subjects."""
