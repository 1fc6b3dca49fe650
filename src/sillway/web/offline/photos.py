"""Photos from phones: the same check and the same store as photos from a page."""

from __future__ import annotations

from django.http import Http404

from sillway.errors import BadInput
from sillway.store.photos import add_photo
from sillway.web import limiter
from sillway.web.access import by, record_for
from sillway.web.offline.kinds import Answer, Sent, takes


@takes("van.photo", "van.photo", keeps_key=True)
def van_photo(sent: Sent) -> Answer:
    """A photo of a van: ``{"record": number, "shows": words}`` and the file."""
    number = sent.payload.get("record")
    if not isinstance(number, int) or isinstance(number, bool):
        raise Http404
    record_for(sent.request, "van", number, to="photo")
    if sent.file is None:
        raise BadInput("photo", "", "the picture")
    if not limiter.allow("upload", str(sent.request.user.pk)):
        raise BadInput("photo", "more than one hour allows", "it again in an hour")
    use = add_photo(
        number, sent.file, by(sent.request, "phone"), shows=str(sent.payload.get("shows", ""))[:40],
        entry=sent.key,
    )  # fmt: skip
    return {"photo": use.pk}
