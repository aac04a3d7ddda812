"""A visit that was recorded: what it tells, and the printed sheet to show the customer."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from typing import TYPE_CHECKING

from fastapi import Response

from etsched.reports.visit_page import visit_page
from etsched.usecases.kept_visit import find_visit, judged, read_record
from etsched.usecases.properties import get_site
from etsched.web.pages.security import POLICY, Asked, Page
from etsched.web.pages.visit import verdict

if TYPE_CHECKING:
    from etsched.model.service import KeptVisit

_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def recorded(asked: Asked) -> Response:
    """Say that a visit is kept, and what it tells."""
    kept = _visit(asked)
    return asked.page(
        "visit_recorded.html.j2",
        site=asked.site,
        name=get_site(asked.service, asked.site).name,
        visit=kept.visit,
        day=kept.day,
        says=verdict(asked, kept.document),
    )


def sheet(asked: Asked) -> Response:
    """Give the printable sheet, the same that the command line writes; its own style is named by its digest."""
    kept = _visit(asked)
    page = visit_page(judged(asked.service, asked.site, read_record(asked.service, asked.site, kept.document)))
    styles = [b64encode(sha256(style.encode()).digest()).decode() for style in _STYLE.findall(page)]
    allowed = " ".join(f"'sha256-{digest}'" for digest in styles)
    policy = POLICY.replace("style-src 'self'", f"style-src {allowed}").replace("script-src 'self'; ", "")
    return Response(page, media_type="text/html", headers={"content-security-policy": policy})


def _visit(asked: Asked) -> KeptVisit:
    return find_visit(asked.service, asked.site, str(asked.request.path_params["visit"]))


PAGES = (
    Page("/sites/{site}/visits/{visit}", recorded),
    Page("/sites/{site}/visits/{visit}/sheet", sheet),
)
