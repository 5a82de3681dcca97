"""Signed values for cookies and forms, and the secret that signs them.

The secret lies in the shop's folder, readable by its owner only. A backup does not hold it: a shop that
is restored elsewhere pairs its devices anew.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from itsdangerous import BadSignature, Signer

from seamlight.mistake import Mistake

SECRET_FILE = "pages.secret"
SECRET_BYTES = 32


@dataclass(frozen=True)
class Seals:
    """Signs and opens values; `use` keeps a value made for one purpose from being used for another."""

    secret: bytes

    def seal(self, use: str, value: str) -> str:
        """The value with its signature."""
        return self._signer(use).sign(value).decode()

    def open(self, use: str, sealed: str) -> str | None:
        """The value, or None where the signature is not ours."""
        try:
            return self._signer(use).unsign(sealed).decode()
        except (BadSignature, UnicodeError):
            return None

    def mark(self, use: str, value: str) -> str:
        """A keyed hash of the value: 64 hexadecimal digits (HMAC-SHA-256, RFC 2104)."""
        return hmac.new(self.secret, f"{use}\0{value}".encode(), hashlib.sha256).hexdigest()

    def _signer(self, use: str) -> Signer:
        return Signer(self.secret, salt=f"seamlight {use}", digest_method=hashlib.sha256)


def shop_seals(folder: Path) -> Seals:
    """The shop's own seals; the secret is made when it is first needed.

    Raises:
        Mistake: the secret cannot be read or written, or is cut short.
    """
    path = folder / SECRET_FILE
    try:
        try:
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            pass
        else:
            with os.fdopen(handle, "wb") as file:
                file.write(secrets.token_bytes(SECRET_BYTES))
                file.flush()
                os.fsync(file.fileno())
        secret = path.read_bytes()
    except OSError as error:
        raise Mistake(f"cannot be used ({error.strerror})", where=str(path), do="mend its rights") from error
    if len(secret) != SECRET_BYTES:
        raise Mistake(
            "is damaged", where=str(path), do="delete it and start again; devices then pair once more"
        )
    return Seals(secret)
