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
    tablets: Annotated[
        bool, typer.Option("--tablets", help="Serve paired tablets in the private network too, over TLS.")
    ] = False,
    plain: Annotated[
        bool,
        typer.Option("--plain", help="Serve paired tablets without TLS as well: others can read along."),
    ] = False,
    tablet_port: Annotated[
        int,
        typer.Option(
            metavar="N", min=1, max=65534, help="The port for tablets; the next one serves --plain."
        ),
    ] = 8740,
    data: Data = None,
) -> None:
    """Open the desk in the browser. It listens on this machine only unless --tablets is given; Ctrl+C stops it."""
    from importlib import import_module

    from coatwright.cli.source import salon_file

    # Looked up by name: neither of the two rooms depends on the other.
    pages = import_module("coatwright.web.app")
    pages.serve(
        data=salon_file(data),
        demo=demo,
        port=port,
        open_browser=not no_browser,
        tablets=tablets,
        plain=plain,
        tablet_port=tablet_port,
    )
