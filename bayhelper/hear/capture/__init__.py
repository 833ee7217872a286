"""From a microphone or a file to utterances."""
