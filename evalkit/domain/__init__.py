"""The trade's nouns and rules: frozen models and pure functions, no input or output."""
