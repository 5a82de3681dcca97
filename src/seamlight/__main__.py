"""`python -m seamlight`, the same as `seamlight`."""

import sys

from seamlight.cli.main import main

sys.exit(main())
