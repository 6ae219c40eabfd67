"""Links for people without an account: signed over (purpose, studio, row), so the studio is known before any row is.

Verify first, then open the scope of the *signed* studio, then look whether the row is revoked or expired.
"""

from uuid import UUID

from django.core import signing
from django.urls import reverse

from studio.platform.errors import NotHere


def sign(purpose: str, studio_id: UUID, row_id: UUID) -> str:
    return signing.Signer(salt=f"link:{purpose}").sign_object([studio_id.hex, row_id.hex])


def verify(purpose: str, signed: str) -> tuple[UUID, UUID]:
    """(studio id, row id) of a link that we signed for this purpose; raises NotHere."""
    try:
        studio_hex, row_hex = signing.Signer(salt=f"link:{purpose}").unsign_object(signed)
        return UUID(hex=studio_hex), UUID(hex=row_hex)
    except (signing.BadSignature, ValueError, TypeError):
        raise NotHere("link (it may have been cut off when it was copied)") from None


def address(route: str, *args: str) -> str:
    """The full public address of a page."""
    from django.conf import settings

    return f"{settings.PUBLIC_URL}{reverse(route, args=args)}"
