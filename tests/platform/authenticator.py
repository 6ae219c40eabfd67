"""A security key in software: just enough of WebAuthn (W3C, level 2, 6.1, 6.5 and 8.7) to try our side of it."""

import hashlib
import json
import os
from dataclasses import dataclass, field
from typing import Any

import cbor2
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from webauthn.helpers import bytes_to_base64url as text

PRESENT, VERIFIED, WITH_KEY = 0x01, 0x04, 0x40


@dataclass
class SecurityKey:
    host: str
    origin: str
    count: int = 0
    flags: int = PRESENT | VERIFIED
    credential_id: bytes = field(default_factory=lambda: os.urandom(16))
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    def _told(self, kind: str, challenge: str) -> bytes:
        return json.dumps({"type": kind, "challenge": challenge, "origin": self.origin}).encode()

    def _data(self, flags: int, more: bytes = b"") -> bytes:
        self.count += 1
        return (
            hashlib.sha256(self.host.encode()).digest()
            + bytes([flags])
            + self.count.to_bytes(4, "big")
            + more
        )

    def _answer(self, response: dict[str, str]) -> str:
        return json.dumps(
            {
                "id": text(self.credential_id),
                "rawId": text(self.credential_id),
                "type": "public-key",
                "response": response,
                "clientExtensionResults": {},
            }
        )

    def make(self, question: dict[str, Any]) -> str:
        numbers = self.key.public_key().public_numbers()
        public = cbor2.dumps(
            {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32, "big"), -3: numbers.y.to_bytes(32, "big")}
        )
        attested = bytes(16) + len(self.credential_id).to_bytes(2, "big") + self.credential_id + public
        made = {"fmt": "none", "attStmt": {}, "authData": self._data(self.flags | WITH_KEY, attested)}
        return self._answer(
            {
                "clientDataJSON": text(self._told("webauthn.create", question["challenge"])),
                "attestationObject": text(cbor2.dumps(made)),
            }
        )

    def prove(self, question: dict[str, Any]) -> str:
        told, data = self._told("webauthn.get", question["challenge"]), self._data(self.flags)
        signature = self.key.sign(data + hashlib.sha256(told).digest(), ec.ECDSA(SHA256()))
        return self._answer(
            {"clientDataJSON": text(told), "authenticatorData": text(data), "signature": text(signature)}
        )
