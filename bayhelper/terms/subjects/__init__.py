"""What can happen and what is said about it, one module a subject: facts, then sentences."""
