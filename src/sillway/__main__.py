"""``python -m sillway``."""

from sillway.cli import main

raise SystemExit(main())
