"""``python -m barfit`` and the command ``barfit``."""

from __future__ import annotations

from barfit.cli import main

if __name__ == "__main__":
    main()
