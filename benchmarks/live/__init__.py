"""The live path, measured part by part."""
