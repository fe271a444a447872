"""The preview: MkDocs' own live-reload server over a site that is built anew whenever content or templates change."""

from __future__ import annotations

import logging
import tempfile
from pathlib import Path

from mkdocs.commands.build import build as mkdocs_build
from mkdocs.livereload import LiveReloadServer

from kbtools.site.config import config_for
from kbtools.site.plugin import KbtoolsPlugin
from kbtools.site.render import overrides


def server_for(content: Path, host: str, port: int, folder: Path) -> LiveReloadServer:
    """A server over a first build of the content in `folder`; `serve()` starts it. Raises OSError when the port is taken."""
    plugin = KbtoolsPlugin()
    empty, site = folder / "pages", folder / "site"
    empty.mkdir()
    site.mkdir()

    def builder() -> None:
        config = config_for(content, site, empty, plugin)
        config.site_url = f"http://{host}:{port}/"
        config.plugins.on_startup(command="serve", dirty=False)
        mkdocs_build(config, serve_url=config.site_url)

    server = LiveReloadServer(builder=builder, host=host, port=port, root=str(site), mount_path="/")
    server.error_handler = lambda code: (site / "404.html").read_bytes() if code == 404 else None
    plugin.on_serve(server, config=None, builder=builder)
    builder()
    for watched in (content, overrides(), content.resolve().parent / "mkdocs.yml"):
        if watched.exists():
            server.watch(str(watched))
    return server


def serve(content: Path, host: str, port: int) -> None:
    """Serves until interrupted."""
    logging.getLogger("mkdocs").setLevel(logging.INFO)
    with tempfile.TemporaryDirectory(prefix="kbtools-") as folder:
        server = server_for(content, host, port, Path(folder))
        try:
            server.serve()  # type: ignore[no-untyped-call]
        except KeyboardInterrupt:
            pass
        finally:
            server.shutdown()
