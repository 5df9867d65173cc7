"""Lets `python -m loomwright` do what the command `loomwright` does."""

from loomwright.cli.main import main

if __name__ == "__main__":
    raise SystemExit(main())
