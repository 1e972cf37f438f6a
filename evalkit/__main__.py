"""Lets `python -m evalkit` reach the command line."""

from evalkit.cli.app import main

if __name__ == "__main__":
    main()
