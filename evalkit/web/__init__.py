"""The mentor's marking pages: routes that parse, call an action and show what came of it."""
