"""``serve``: run the program for the shop on its own network address."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from finishing.models import User


def serve(host: str, port: int) -> None:
    """Answer requests until stopped. Raises ``CommandError`` when the address is taken or not ours."""
    from waitress import serve as answer

    from finishing.wsgi import application

    try:
        answer(application, host=host, port=port, threads=8, ident="Finish Ledger", clear_untrusted_proxy_headers=True)
    except OSError as error:
        raise CommandError(f"Can’t listen on {host}:{port}: {error.strerror or error}. Choose another with --port.") from error


def gather_static() -> None:
    """Put the look's files where the server takes them from; a single machine serves them from where they are."""
    settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
    if not settings.LOCAL:
        call_command("collectstatic", verbosity=0, interactive=False)


class Command(BaseCommand):
    """Bring the database up to date, say who can sign in, and serve."""

    help = "Runs Finish Ledger for the browsers of the shop. Stop it with Ctrl+C."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Where to listen."""
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on (default 127.0.0.1: this machine only)")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on (default 8000)")

    def handle(self, *_args: Any, **options: Any) -> None:
        """Migrate, then serve."""
        call_command("migrate", verbosity=0, interactive=False)
        gather_static()
        if not User.objects.exists():
            self.stdout.write("Nobody can sign in yet. Stop with Ctrl+C and run: python3 manage.py add_person NAME --role owner")
        self.stdout.write(f"Finish Ledger answers at http://{options['host']}:{options['port']}/ — stop it with Ctrl+C.")
        serve(options["host"], options["port"])
