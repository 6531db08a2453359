"""`python -m flipcheck` is the command line."""

from __future__ import annotations

from flipcheck.cli.main import main

if __name__ == "__main__":
    main()
