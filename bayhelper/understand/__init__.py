"""From heard words to a command: grammars, matching, spoken numbers; pure."""
