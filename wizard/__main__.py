"""`python -m wizard` is `phasewright`."""

import sys

from wizard.cli import main

sys.exit(main())
