"""From sound to a Hearing: sources, end-pointing, engines, acceptance."""
