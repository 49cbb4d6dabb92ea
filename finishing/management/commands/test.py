"""``python3 manage.py test``: hand paths and options to pytest as they are."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence

from django.conf import settings
from django.core.management.base import BaseCommand
from django.test.utils import get_runner

EPILOG = (
    "Everything else goes to pytest: paths, -k, -m, -x, -v and all its other options. "
    "Examples: manage.py test tests/inventory -k receive; manage.py test --on both."
)


class Command(BaseCommand):
    """Django's own test command would read pytest's options as its own, so this one parses only what is ours."""

    help = "Run the tests."

    def run_from_argv(self, argv: Sequence[str]) -> None:
        """Exit with the runner's code."""
        runner_class = get_runner(settings)
        parser = argparse.ArgumentParser(prog="manage.py test", description=self.help, epilog=EPILOG, allow_abbrev=False)
        runner_class.add_arguments(parser)
        # Only our own options are taken out; what is left keeps its order, which matters to pytest.
        known, rest = parser.parse_known_args(list(argv[2:]))
        sys.exit(runner_class(**vars(known)).run_tests(rest))
