"""How well the ear hears in a loud bay, streamed through the end-pointer it ships with."""
