"""`python -m lubberline`: the command line."""

import sys

from lubberline.cli import main

if __name__ == "__main__":
    sys.exit(main())
