"""The certificate of the shop's network: made here, or given. Only `serve --lan` comes here."""

import datetime as dt
import os
import ssl
from dataclasses import dataclass
from hashlib import sha256
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from lostgallon.shop.trouble import BadArgument, BadFile

if TYPE_CHECKING:
    from cryptography import x509

LASTS = dt.timedelta(days=397)
"""What browsers accept of a certificate at most: CA/Browser Forum, Baseline Requirements 6.3.2, 398 days."""
_RENEW_BEFORE = dt.timedelta(days=30)


@dataclass(frozen=True)
class Certificate:
    """A certificate on the disk.

    Attributes:
        chain: PEM file of the certificate and of those that vouch for it.
        key: PEM file of its key.
        fingerprint: SHA-256 as browsers show it: pairs of digits.
        own: Whether this program made it, so that browsers ask.
    """

    chain: Path
    key: Path
    fingerprint: str
    own: bool


def given(chain: Path, key: Path) -> Certificate:
    """A certificate that was given.

    Raises:
        BadArgument: If the two files are not a certificate and its key.
    """
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(chain, key, password=lambda: b"")
        first = chain.read_text("ascii").partition("-----END CERTIFICATE-----")
        fingerprint = _fingerprint(
            ssl.PEM_cert_to_DER_cert("-----BEGIN" + (first[0] + first[1]).partition("-----BEGIN")[2])
        )
    except (OSError, ValueError) as trouble:
        reason = trouble.strerror if isinstance(trouble, OSError) and trouble.strerror else "no certificate"
        raise BadArgument(
            "--certificate",
            found=f"{chain} and {key} ({reason.lower()})",
            expected="a certificate and its key without a password, as PEM files",
        ) from None
    return Certificate(chain, key, fingerprint, own=False)


def own_certificate(folder: Path, names: tuple[str, ...], now: dt.datetime) -> Certificate:
    """The certificate that this program makes for its addresses; made anew before it ends or where they changed.

    Args:
        folder: Where it is kept; the key is readable for its owner alone.
        names: Host names and addresses that it is for.
        now: An aware time.

    Raises:
        BadFile: If it can't be kept there.
    """
    from cryptography import x509  # noqa: PLC0415 - only the shop's network needs it

    chain, key_path = folder / "certificate.pem", folder / "key.pem"
    try:
        if chain.exists() and key_path.exists():
            known = x509.load_pem_x509_certificate(chain.read_bytes())
            if _serves(known, names, now):
                return Certificate(
                    chain, key_path, _fingerprint(ssl.PEM_cert_to_DER_cert(chain.read_text("ascii"))), own=True
                )
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        made, key = _made(names, now)
        _write_private(key_path, key)
        _write_private(chain, made)
    except (OSError, ValueError) as trouble:
        raise BadFile(str(folder), found=str(trouble), expected="a folder for the certificate") from None
    return Certificate(chain, key_path, _fingerprint(ssl.PEM_cert_to_DER_cert(made.decode("ascii"))), own=True)


def _serves(known: "x509.Certificate", names: tuple[str, ...], now: dt.datetime) -> bool:
    from cryptography import x509  # noqa: PLC0415 - as above

    if not known.not_valid_before_utc <= now < known.not_valid_after_utc - _RENEW_BEFORE:
        return False
    told = known.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(one.value) for one in told} >= set(names)


def _made(names: tuple[str, ...], now: dt.datetime) -> tuple[bytes, bytes]:
    from cryptography import x509  # noqa: PLC0415 - as above
    from cryptography.hazmat.primitives import hashes, serialization  # noqa: PLC0415 - as above
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415 - as above
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID  # noqa: PLC0415 - as above

    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Lost Gallon in this shop")])
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - dt.timedelta(days=1))
        .not_valid_after(now + LASTS - dt.timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([_general_name(name) for name in names]), critical=False)
        # It vouches for itself alone: whoever takes its key can make no other site's certificate with it.
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    private = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return made.public_bytes(serialization.Encoding.PEM), private


def _general_name(name: str) -> "x509.GeneralName":
    from cryptography import x509  # noqa: PLC0415 - as above

    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _write_private(path: Path, content: bytes) -> None:
    part = path.with_suffix(".part")
    part.unlink(missing_ok=True)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    part.replace(path)


def _fingerprint(der: bytes) -> str:
    digits = sha256(der).hexdigest().upper()
    return " ".join(digits[at : at + 2] for at in range(0, len(digits), 2))
