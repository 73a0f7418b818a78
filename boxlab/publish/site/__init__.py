"""The lessons as a folder of web pages that needs no network, no kernel and no server.

`build` writes the whole site. The pages mirror the layout of the repository, so that a link from
a lesson to a heading, a picture or a file works on the site as it does in JupyterLab.
"""

from __future__ import annotations

from boxlab.publish.site.build import build

__all__ = ["build"]
