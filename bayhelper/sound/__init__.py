"""Sound cards, files, rates and samples: what hearing, speaking and keeping have in common."""
