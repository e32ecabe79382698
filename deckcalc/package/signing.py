"""Sign a filed PDF: who may sign next, what stands on the cover, and the signed file put in its place whole.

A signature is added after the bytes of the document (PAdES), which stay as they were filed. Who holds the key is left
to a `Signer` of pyHanko: one of a file is made by `signer_of`, one of a token or card by `pyhanko.sign.pkcs11`.
"""

from __future__ import annotations

import datetime
import io
import os
import shutil
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from deckcalc.base.comments import OPEN
from deckcalc.base.errors import PackageError
from deckcalc.base.fields import DRAFT
from deckcalc.base.replacing import holding
from deckcalc.base.signers import LAW, ROLES
from deckcalc.core.units import clipped
from deckcalc.package import carried, pdf, signatures
from deckcalc.package.signatures import Signed

if TYPE_CHECKING:
    from pyhanko.sign import Signer
    from pyhanko.sign.timestamps import TimeStamper

#: The rows to sign in, in mm below the heading of the sign-off and from the left of the page, as `package.typ` sets them:
#: head of the table, height of a row, margins of the page, the share of the text before the column of the signature.
BELOW, ROW, LEFT, RIGHT, BEFORE = 13.97, 16.0, 20.0, 22.0, 0.44
#: Kept free beside a signature, and above and below it.
BESIDE, AROUND = 1.2, 0.7
MM = 72 / 25.4
#: The furthest east that any clock is: no date is later anywhere.
EAST = datetime.timedelta(hours=14)
#: Bits of an RSA key below which no signature is made.
LEAST_BITS = 2048


@dataclass(frozen=True)
class Made:
    """A signature that was made.

    Attributes
    ----------
    path : Path
        The signed file.
    role : str
    by, named : str
        Whom the certificate is for, and whom the package names in that role.
    left : tuple of str
        Who has yet to sign.
    """

    path: Path
    role: str
    by: str
    named: str
    left: tuple[str, ...]


def sign(
    path: str | Path,
    signer: Signer,
    role: str | None = None,
    out: str | Path | None = None,
    timestamper: TimeStamper | None = None,
    moment: datetime.datetime | None = None,
) -> Made:
    """Sign a filed document.

    Parameters
    ----------
    path : path
        The PDF as it was filed, or as it was signed by those before.
    signer : pyhanko.sign.Signer
        Holds the certificate and signs with its key, whether that lies in a file or on a token.
    role : str, optional
        One of ``package.ROLES``; by default the next that has not signed.
    out : path, optional
        Where the signed file goes. By default ``NAME-signed.pdf`` beside; a file that bears signatures is replaced.
    timestamper : pyhanko.sign.timestamps.TimeStamper, optional
        Has the time confirmed.
    moment : datetime, optional
        When it is signed, with its zone; by default now.

    Returns
    -------
    Made

    Raises
    ------
    PackageError
        If the document may not be signed, or not by that role, certificate or clock, or the file cannot be put in its
        place. What stood there is left as it was.
    """
    path = Path(path)
    data = carried.data_of(path)
    filed = carried.read_filed(path)
    if altered := [*carried.strange_files(filed)]:
        raise PackageError("\n".join(f"{path}: {said}; it was not signed" for said in altered))
    there = signatures.read(path, data)
    if not there.whole:
        said = [
            *there.faults,
            *(f"signature of the {one.role}: {why}" for one in there.signatures for why in one.faults),
        ]
        raise PackageError("\n".join(f"{path}: {one}; it was not signed" for one in said))
    people = may_be_signed(path, filed, there)
    role = next_role(path, there, role)
    moment = (moment or datetime.datetime.now().astimezone()).replace(microsecond=0)
    require_clock(path, filed, there, moment)
    require_certificate(signer, moment)
    place = place_for(path, out, bool(there.signatures))
    with holding(place, alone=True) as holder:
        new = holder / place.name
        new.write_bytes(signed(data, signer, role, there, timestamper, moment))
        check = signatures.read(new, carried.data_of(new))
        if not check.whole or [one.role for one in check.signatures] != [*ROLES[: len(there.signatures) + 1]]:
            raise PackageError(f"{path}: the signature that was made is not whole; nothing was written")
        put(new, place, data if place == Path(os.path.realpath(path)) else None)
    return Made(place, role, check.signatures[-1].by, people[role], ROLES[len(check.signatures) :])


# --- who may sign


def may_be_signed(path: Path, filed: carried.Carried, there: Signed) -> dict[str, str]:
    """Return whom the package names in each role.

    Raises
    ------
    PackageError
        If the package is a draft: open items are undecided, comments unanswered, something was not computed, or nobody is named.
    """
    manifest = filed.manifest
    try:
        people = {role: str(tomllib.loads(filed.inputs["job.toml"].decode())["people"].get(role, "")) for role in ROLES}
        left = [one["number"] for one in manifest["open items"] if not one["decision"]]
        missing = manifest.get("not computed", [])
        waiting = [one["number"] for one in manifest.get("comments", ()) if one["status"] == OPEN]
    except (KeyError, TypeError, AttributeError, ValueError, RecursionError):
        raise PackageError(f"{path}: its manifest or job.toml cannot be read; it was not signed") from None
    why = []
    if left:
        why.append(
            f"{len(left)} open item{'s are' if len(left) > 1 else ' is'} undecided; decide what stands open in [[decisions]]"
        )
    if waiting:
        why.append(f"comment{'s' * (len(waiting) > 1)} {clipped(', '.join(map(str, waiting)), 80)} unanswered")
    if missing:
        why.append(f"{clipped(missing[0], 120)}; a part of it could not be computed")
    if unnamed := [role for role in ROLES if not people[role]]:
        why.append(f"[people] of job.toml names no {' and no '.join(unnamed)}")
    if why:
        raise PackageError(
            f"{path} is not to be signed as it stands, its pages read {DRAFT}: {'; '.join(why)}; then build it again"
        )
    if not there.place:
        raise PackageError(f"{path} has no place to sign: its cover has no sign-off")
    return people


def next_role(path: Path, there: Signed, role: str | None) -> str:
    """Return who signs now.

    Raises
    ------
    PackageError
        If all have signed, or the one who is asked for has, or comes later.
    """
    done = [one.role for one in there.signatures]
    left = [one for one in ROLES if one not in done]
    if (role is None and not left) or role in done:
        who = there.signatures[done.index(role)] if role else there.signatures[-1]
        raise PackageError(f"{path}: the {who.role} has signed already, {who.by}, {who.when}; nobody signs twice")
    if role not in (None, left[0]):
        raise PackageError(f"{path}: the {role} signs after the {left[0]}, who has not signed yet")
    return left[0]


def require_clock(path: Path, filed: carried.Carried, there: Signed, moment: datetime.datetime) -> None:
    """Refuse a clock by which the document would be signed before it was issued or signed before.

    A signature with such a time could be held against all of them later, and a clock is soon set.
    """
    try:
        issued = datetime.date.fromisoformat(filed.manifest["date"])
    except (KeyError, TypeError, ValueError):
        raise PackageError(f"{path}: its manifest names no date of its revision; it was not signed") from None
    if (moment.astimezone(datetime.UTC) + EAST).date() < issued:
        raise PackageError(
            f"{path}: the clock says {signatures.said(moment)}, before the date of the revision, {issued}; set the clock, or the date"
        )
    for one in there.signatures[-1:]:
        if moment < datetime.datetime.strptime(one.when, signatures.MOMENT):
            raise PackageError(
                f"{path}: the clock says {signatures.said(moment)}, before the {one.role} signed, {one.when}; set the clock"
            )


def require_certificate(signer: Signer, moment: datetime.datetime) -> None:
    """Refuse a certificate that is not for signing, or not now."""
    from asn1crypto import x509

    found = signer.signing_cert
    if found is None:
        raise PackageError("the signer holds no certificate")
    who, first, last = (
        f"certificate of {signatures.name_of(found.subject)}",
        found.not_valid_before,
        found.not_valid_after,
    )
    if moment < first:
        raise PackageError(f"{who}: not valid before {signatures.said(first)}; it is {signatures.said(moment)} now")
    if moment > last:
        raise PackageError(f"{who}: expired {signatures.said(last)}; it is {signatures.said(moment)} now")
    usage = found.key_usage_value
    if usage is not None and not usage.native & {"digital_signature", "non_repudiation"}:
        words = ", ".join(sorted(usage.native)).replace("_", " ")
        raise PackageError(f"{who}: for {words}, wanted one for digital signature or non-repudiation")
    key: x509.PublicKeyInfo = found.public_key
    if key.algorithm in ("rsa", "rsassa_pss") and key.bit_size < LEAST_BITS:
        raise PackageError(f"{who}: an RSA key of {key.bit_size} bits, wanted {LEAST_BITS} or more")


# --- the signature


def signed(
    data: bytes, signer: Signer, role: str, there: Signed, timestamper: TimeStamper | None, moment: datetime.datetime
) -> bytes:
    """Return a document with one signature more; its own bytes stand before it unchanged."""
    from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
    from pyhanko.pdf_utils.layout import AxisAlignment, InnerScaling, Margins, SimpleBoxLayoutRule
    from pyhanko.sign import PdfSignatureMetadata, PdfSigner
    from pyhanko.sign.fields import MDPPerm, SigFieldSpec, SigSeedSubFilter, append_signature_field
    from pyhanko.sign.timestamps import TimestampRequestError
    from pyhanko.stamp import StaticStampStyle

    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    boxes = dict(boxes_of(there.place))
    if not there.signatures:  # the first keeps a place for all: whatever else is added breaks it
        for name, box in boxes.items():
            spec = SigFieldSpec(
                name, on_page=int(there.place[0]), box=box, readable_field_name=f"signature of the {name}"
            )
            append_signature_field(writer, spec)
    meta = PdfSignatureMetadata(
        field_name=role, md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES,
        certify=not there.signatures, docmdp_permissions=MDPPerm.FILL_FORMS,
        reason=f"{role} of the calculation package",
    )  # fmt: skip
    assert signer.signing_cert is not None
    with tempfile.TemporaryDirectory() as folder:
        x0, y0, x1, y1 = boxes[role]
        block = Path(folder) / "block.pdf"
        block.write_bytes(visible(role, signer.signing_cert, moment, x1 - x0, y1 - y0))
        whole = SimpleBoxLayoutRule(
            AxisAlignment.ALIGN_MIN, AxisAlignment.ALIGN_MAX, Margins(0, 0, 0, 0), InnerScaling.NO_SCALING
        )
        style = StaticStampStyle.from_pdf_file(str(block), border_width=0, background_layout=whole)
        made = at(moment, PdfSigner)(meta, signer, timestamper=timestamper, stamp_style=style)
        try:
            return bytes(made.sign_pdf(writer, existing_fields_only=True).getbuffer())
        except TimestampRequestError as error:
            raise PackageError(f"no timestamp was given: {error}; nothing was signed") from None
        except OSError as error:
            raise PackageError(f"nothing was signed: {error.strerror or error}") from None


def at(moment: datetime.datetime, signers: type) -> Callable[..., Any]:
    """Return what makes a signer of documents whose clock stands at a moment, the one that the visible block names."""

    class Timed(signers):
        def init_signing_session(self, *args: Any, **kwargs: Any) -> Any:
            session = super().init_signing_session(*args, **kwargs)
            session.system_time = moment
            return session

    return Timed


def boxes_of(place: tuple[float, ...]) -> Iterator[tuple[str, tuple[int, int, int, int]]]:
    """Give the box of each role on the page of the sign-off: left, bottom, right, top."""
    _, _, top, width = place
    text = width / MM - LEFT - RIGHT
    left, right = LEFT + BEFORE * text + BESIDE, LEFT + text - BESIDE
    for number, role in enumerate(ROLES):
        upper = BELOW + number * ROW + AROUND
        low, high = top - (upper + ROW - 2 * AROUND) * MM, top - upper * MM
        yield role, (round(left * MM), round(low), round(right * MM), round(high))


BLOCK = """
#let facts = json(bytes(sys.inputs.facts))
#let width = facts.width * 1pt
#let height = facts.height * 1pt
#set document(title: "signature")
#set page(width: width, height: height, margin: 0pt, fill: none)
#set text(font: "Libertinus Serif", size: 7.5pt, lang: "en", hyphenate: true)
#set par(leading: 0.4em, spacing: 0.4em)
#show regex("\\\\S{24,}"): found => found.text.clusters().join(sym.zws)
#let body = [
  *#facts.by*, #facts.role #parbreak()
  signed digitally #facts.when \\
  certificate by #facts.issuer #parbreak()
  #facts.law
]
#context {
  let room(share) = measure(block(width: width / share, body)).height * share
  let share = (1, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4).find(share => room(share) <= height)
  scale(x: share * 100%, y: share * 100%, origin: top + left, block(width: width / share, body))
}
"""


def visible(role: str, certificate: Any, moment: datetime.datetime, width: float, height: float) -> bytes:
    """Return the block that stands on the cover, as a PDF of its size."""
    facts = {
        "role": role, "by": signatures.name_of(certificate.subject), "issuer": signatures.name_of(certificate.issuer),
        "when": signatures.said(moment), "law": LAW, "width": width, "height": height,
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "block.typ"
        source.write_text(BLOCK, encoding="utf-8")
        return pdf.compiled(source, facts, moment, ["a-3b"])


# --- its place


def place_for(path: Path, out: str | Path | None, has: bool) -> Path:
    """Return where the signed file goes: over what it signs where that bears signatures, else where nothing stands."""
    source = Path(os.path.realpath(path))
    place = Path(os.path.realpath(out)) if out else source if has else source.with_name(f"{source.stem}-signed.pdf")
    if os.path.lexists(place) and not (has and place == source):
        raise PackageError(
            f"{place} stands there already and is not replaced; sign that one on, or name another file with --out"
        )
    return place


def put(new: Path, place: Path, read: bytes | None) -> None:
    """Put a signed file in its place, if nothing stands there, or what was read."""
    with open(new, "rb+") as file:
        os.fsync(file.fileno())
    there = place.read_bytes() if os.path.lexists(place) else None
    if there not in (None, read):
        raise PackageError(f"{place} was signed or changed meanwhile; it was left as it is: sign it again")
    if there is not None:
        shutil.copymode(place, new)
    os.replace(new, place)


# --- the key


def signer_of(certificate: Path, key: Path | None, ask: Callable[[], str]) -> Signer:
    """Return what signs with a certificate and key in files.

    Parameters
    ----------
    certificate : Path
        PKCS#12 (.p12, .pfx) with its key; or PEM, with the certificates of its issuers after it.
    key : Path, optional
        The key in PEM, where it is not in the file of the certificate.
    ask : callable
        Returns the passphrase; it is called where the key is locked, and what it returns is not kept.

    Raises
    ------
    PackageError
        If a file cannot be read, the passphrase is another, or key and certificate are not of one pair.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import serialization
    from cryptography.hazmat.primitives.serialization import pkcs12

    data = carried.data_of(certificate, 2**20)
    if b"-----BEGIN" in data:
        lock = carried.data_of(key, 2**20) if key else data
        own: Any = loaded(
            lambda phrase: serialization.load_pem_private_key(lock, phrase),
            key or certificate,
            b"ENCRYPTED" in lock,
            ask,
        )
        first, *others = loaded(lambda phrase: x509.load_pem_x509_certificates(data), certificate, False, ask)
    elif key:
        raise PackageError(f"{certificate} is no PEM: a file of PKCS#12 holds its key itself")
    else:
        found: Any = loaded(lambda phrase: pkcs12.load_pkcs12(data, phrase), certificate, True, ask)
        if found.key is None or found.cert is None:
            raise PackageError(f"{certificate} holds no {'key' if found.key is None else 'certificate'}")
        own, first, others = found.key, found.cert.certificate, [one.certificate for one in found.additional_certs]
    form = serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
    if own.public_key().public_bytes(*form) != first.public_key().public_bytes(*form):
        raise PackageError(f"{key or certificate}: its key is not that of the certificate")
    return of_pair(first, own, others)


def loaded(read: Callable[[bytes | None], Any], file: Path, locked: bool, ask: Callable[[], str]) -> Any:
    """Return what a file of keys or certificates holds; a fault names the file and never what is in it."""
    try:
        return read(ask().encode() if locked else None)
    except (ValueError, TypeError) as error:
        why = "the passphrase is another, or it" if locked else "it"
        raise PackageError(f"{file}: {why} is no certificate or key in PKCS#12 or PEM") from (None if error else error)


def of_pair(certificate: Any, key: Any, others: list[Any]) -> Signer:
    """Return what signs with a certificate and its key, as the library holds them."""
    from asn1crypto import keys, x509
    from cryptography.hazmat.primitives import serialization
    from pyhanko.sign import SimpleSigner
    from pyhanko_certvalidator.registry import SimpleCertificateStore

    def plain(one: Any) -> x509.Certificate:
        return x509.Certificate.load(one.public_bytes(serialization.Encoding.DER))

    secret = key.private_bytes(
        serialization.Encoding.DER, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    issuers = SimpleCertificateStore()
    issuers.register_multiple([plain(one) for one in others])
    return SimpleSigner(plain(certificate), keys.PrivateKeyInfo.load(secret), issuers)
