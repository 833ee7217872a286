"""Plain data in and out: TOML and JSON to frozen dataclasses and back, strictly."""
