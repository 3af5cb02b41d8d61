"""`python -m wiregen`, the same as `wiregen`."""

import sys

from wiregen.cli import main

sys.exit(main())
