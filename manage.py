#!/usr/bin/env python3
"""Run Finish Ledger: ``python3 manage.py demo``, ``serve``, ``test`` and every other command.

Needs nothing but Python 3.11 or newer; what is missing is set up beside this file. This file itself is written so
that an older Python can read it far enough to say what it lacks.
"""

import sys

if sys.version_info < (3, 11):  # noqa: UP036 - the packaging metadata is not consulted when this file is run
    sys.stderr.write(
        "Finish Ledger needs Python 3.11 or newer; this is Python %d.%d.\n"  # noqa: UP031
        "Install a newer Python and run the same command with it, for example: python3.12 manage.py demo\n" % sys.version_info[:2]
    )
    sys.exit(2)

from finishing.bootstrap import main

if __name__ == "__main__":
    sys.exit(main(sys.argv))
