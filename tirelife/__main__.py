"""``python -m tirelife`` is the command line."""

from tirelife.cli import main

raise SystemExit(main())
