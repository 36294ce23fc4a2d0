"""Run boardvet as ``python -m boardvet``."""

from boardvet.cli import main

if __name__ == "__main__":
    raise SystemExit(main())
