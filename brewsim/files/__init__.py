"""Text, TOML and safe writing of files."""
