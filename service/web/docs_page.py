"""Where does a person read and try the interface? A page whose every part comes from here.

The script and the style are the files of an installed package; nothing is fetched elsewhere.
"""

from functools import cache
from importlib.resources import files
from typing import Literal

from litestar.response import Response

from service.domain.problem import NotFound
from service.web.house import Ask
from service.web.negotiate import Form
from service.web.reply import sent

PartName = Literal["start.js", "swagger-ui.css", "swagger-ui-bundle.js", "favicon-32x32.png"]
_ASSETS = {
    "swagger-ui.css": "text/css",
    "swagger-ui-bundle.js": "text/javascript",
    "favicon-32x32.png": "image/png",
}
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline';"
    " img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none';"
    " frame-ancestors 'none'"
)
_PAGE = b"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Stanchion: the interface</title>
<link rel="stylesheet" href="/docs/swagger-ui.css">
<link rel="icon" type="image/png" href="/docs/favicon-32x32.png">
</head>
<body>
<div id="page"></div>
<noscript>This page needs scripts. See <a href="/openapi.json">/openapi.json</a>.</noscript>
<script src="/docs/swagger-ui-bundle.js"></script>
<script src="/docs/start.js"></script>
</body>
</html>
"""
_START = b"""SwaggerUIBundle({
  url: "/openapi.json",
  dom_id: "#page",
  deepLinking: true,
  validatorUrl: null,
  persistAuthorization: false,
});
"""


async def page(request: Ask) -> Response[bytes]:
    headers = {"Content-Security-Policy": _POLICY}
    return sent(request, _PAGE, "text/html", headers=headers)


async def asset(request: Ask) -> Response[bytes]:
    name = request.path_params["name"]
    if name == "start.js":
        return sent(request, _START, "text/javascript")
    if name not in _ASSETS:
        raise NotFound("No such part of the page.")
    headers = {"Cache-Control": "public, max-age=3600"}
    return sent(request, _asset(name), _ASSETS[name], headers=headers)


async def openapi(request: Ask) -> Response[bytes]:
    return sent(
        request, request.app.state.document, Form.NATIVE, headers={"Cache-Control": "no-cache"}
    )


@cache
def _asset(name: str) -> bytes:
    package = files("swagger_ui_bundle")
    folders = [folder for folder in (package / "vendor").iterdir() if folder.is_dir()]
    (folder,) = (one for one in folders if one.name.startswith("swagger-ui-"))
    return (folder / name).read_bytes()
