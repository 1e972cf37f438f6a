"""From answers to pages."""
