"""``python -m app`` is ``crankwright``."""

from app.cli import main

raise SystemExit(main())
