"""bayhelper: a voice and hands-free workflow assistant for an automotive detailing bay."""

__version__ = "0.1.0"
