"""`python -m assistant` is `spoken-brief`."""

import sys

from assistant.commands.main import main

if __name__ == "__main__":
    sys.exit(main())
