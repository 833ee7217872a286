"""How the recordings of this project were made: synthetic speech, by recipe, from open voices."""
