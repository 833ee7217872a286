"""The nouns that every other folder shares."""
