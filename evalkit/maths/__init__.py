"""Numbers in, frozen results out; nothing of rubrics, pairs or people."""
