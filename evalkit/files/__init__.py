"""Text and pictures on disk."""
