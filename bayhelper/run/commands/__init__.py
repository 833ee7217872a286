"""The commands of `bayhelper`, one module each."""
