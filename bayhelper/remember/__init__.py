"""Events to disk and back: one writer, one transaction a decision, nothing ever lost."""
