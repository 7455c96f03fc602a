"""``coatwright desk``: the pages in the browser."""

from __future__ import annotations

from typing import Annotated

import typer

from coatwright.cli.options import Data


def desk(
    demo: Annotated[
        bool, typer.Option("--demo", help="Fill a salon without dogs with the demo's invented ones.")
    ] = False,
    port: Annotated[
        int | None, typer.Option(metavar="N", min=1, max=65535, help="The port, instead of a free one.")
    ] = None,
    no_browser: Annotated[bool, typer.Option("--no-browser", help="Do not open a browser.")] = False,
    data: Data = None,
) -> None:
    """Open the desk in the browser. It listens on this machine only; Ctrl+C stops it."""
    from importlib import import_module

    from coatwright.cli.source import salon_file

    # Looked up by name: neither of the two rooms depends on the other.
    pages = import_module("coatwright.web.app")
    pages.serve(data=salon_file(data), demo=demo, port=port, open_browser=not no_browser)
