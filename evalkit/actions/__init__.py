"""What a mentor or trainee does, one function each."""
