"""What signatures a PDF bears: by whom and when, whether each is whole, and what was added after it.

They come from anybody: they are read in a process of its own, in bounds, without a network.
"""

from __future__ import annotations

import base64
import datetime
import hashlib
import io
import json
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pikepdf

from deckcalc.base.errors import PackageError
from deckcalc.base.signers import ROLES
from deckcalc.core.units import clipped
from deckcalc.package import carried

if TYPE_CHECKING:
    from asn1crypto import x509
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature

#: The most signatures of a document, fields of its form, and bytes of one signature.
MOST, MOST_FIELDS, MOST_BYTES = 20, 100, 2**18
START = "import sys; sys.path.insert(0, sys.argv[1]); from deckcalc.package import signatures; signatures.child()"
MOMENT = "%Y-%m-%d %H:%M:%S %z"
NOT_ASKED = "Whether a certificate was withdrawn was not asked: no network is used."


@dataclass(frozen=True)
class Signature:
    """One signature of a document.

    Attributes
    ----------
    role : str
        One of ``package.ROLES``; where the field has another name, that name.
    by, issuer : str
        Whom the certificate is for, and who made it.
    when : str
        Date, time and zone, as the signer's clock had them or, where there is one, the timestamp.
    stamped : str
        Who gave the timestamp; empty where there is none.
    known : str
        How far the certificate is known here.
    faults : tuple of str
        Why it is not whole or not to be relied on; none where it is.
    after : tuple of str
        Whose signatures were added after it.
    """

    role: str
    by: str
    issuer: str
    when: str
    stamped: str
    known: str
    faults: tuple[str, ...]
    after: tuple[str, ...]


@dataclass(frozen=True)
class Signed:
    """All signatures of a document.

    Attributes
    ----------
    signatures : tuple of Signature
        In the order in which they were made.
    faults : tuple of str
        What is wrong with what they leave uncovered.
    filed : int
        Bytes of the document beneath them, where all that follows is nothing but whole signatures; else 0.
    place : tuple of float
        Page, left, top, width of the rows to sign in; empty where there are none.
    """

    signatures: tuple[Signature, ...]
    faults: tuple[str, ...]
    filed: int
    place: tuple[float, ...]

    @property
    def whole(self) -> bool:
        """Whether nothing is wrong with any."""
        return not self.faults and not any(one.faults for one in self.signatures)


def read(path: str | Path, pdf: bytes, trust: Sequence[bytes] = ()) -> Signed:
    """Read the signatures of a PDF.

    Parameters
    ----------
    path : path
        What it is called.
    pdf : bytes
    trust : sequence of bytes
        Certificates, in DER, from which those of the signers must descend; where none is given, none must.

    Raises
    ------
    PackageError
        If it cannot be read, or has signatures that no package has.
    """
    head = json.dumps([base64.b64encode(one).decode() for one in trust]).encode()
    found = carried.apart(Path(path), head + b"\n" + pdf, START)
    each = [Signature(**{**one, "faults": tuple(one["faults"]), "after": tuple(one["after"])}) for one in found["each"]]
    return Signed(tuple(each), tuple(found["faults"]), found["filed"], tuple(found["place"]))


def roots(path: Path) -> list[bytes]:
    """Return the certificates of a file, in DER.

    Raises
    ------
    PackageError
        If it holds none.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    data = carried.data_of(path, 2**20)
    try:
        found = (
            x509.load_pem_x509_certificates(data) if b"-----BEGIN" in data else [x509.load_der_x509_certificate(data)]
        )
        return [one.public_bytes(Encoding.DER) for one in found]
    except ValueError:
        raise PackageError(f"{path} holds no certificate, wanted one or more in PEM or DER") from None


# --- in a process of its own


def child() -> None:
    """Read a PDF with its signatures from standard input, in bounds, and print what they are."""
    carried.bound()
    trust = [base64.b64decode(one) for one in json.loads(sys.stdin.buffer.readline())]
    try:
        found = found_in(sys.stdin.buffer.read(), trust)
    except PackageError as error:
        found = {"fault": str(error)}
    except Exception as error:  # whatever a stranger's file makes of the libraries that read it
        why = clipped(ascii(" ".join(f"{type(error).__name__} {error}".split())), 120)
        found = {"fault": f"has signatures that cannot be read: {why}"}
    sys.stdout.write(json.dumps(found))


def found_in(pdf: bytes, trust: Sequence[bytes]) -> dict[str, Any]:
    """Return what `read` returns, as plain data."""
    from pyhanko.pdf_utils.reader import PdfFileReader

    with pikepdf.open(io.BytesIO(pdf), attempt_recovery=False, suppress_warnings=True) as document:
        place = place_of(document)
        if not signature_fields(document):
            return {"each": [], "faults": [], "filed": 0, "place": place}
    reader = PdfFileReader(io.BytesIO(pdf))
    found = [*reader.embedded_signatures]
    if len(found) > MOST:
        raise PackageError(f"has {len(found)} signatures, more than any package has")
    if not found:
        return {"each": [], "faults": [], "filed": 0, "place": place}
    if big := [one for one in found if len(one.pkcs7_content) > MOST_BYTES]:
        raise PackageError(f"has a signature of {len(big[0].pkcs7_content)} bytes, larger than any package has")
    each: list[dict[str, Any]] = []
    for number, one in enumerate(found):
        each.append(judged(pdf, one, [*map(role_of, found[number + 1 :])], trust, each[-1] if each else None))
    faults = [*order(each), *uncovered(pdf, reader, found)]
    whole = not faults and not any(one["faults"] for one in each)
    for one in each:
        del one["moment"]
    return {"each": each, "faults": faults, "filed": end_of_first(pdf, reader) if whole else 0, "place": place}


def fields_of(document: pikepdf.Pdf) -> list[pikepdf.Object]:
    """Return the fields of the form of a document."""
    form: Any = document.Root.get("/AcroForm", {})
    return [*form.get("/Fields", [])]


def signature_fields(document: pikepdf.Pdf) -> list[str]:
    """Return the names of the fields for signatures; a form that no package has is refused."""
    fields = fields_of(document)
    if len(fields) > MOST_FIELDS:
        raise PackageError(f"has a form of {len(fields)} fields, more than any package has")
    if any("/Kids" in one for one in fields):
        raise PackageError("has a form within a form, which no package has")
    names = [str(one.get("/T")) for one in fields if one.get("/FT") == "/Sig"]
    if len({*names}) < len(names):
        raise PackageError("has two fields of one name, which no package has")
    return names


def judged(
    pdf: bytes, one: EmbeddedPdfSignature, later: list[str], trust: Sequence[bytes], before: Mapping[str, Any] | None
) -> dict[str, Any]:
    """Return what is to be said of one signature."""
    from pyhanko.sign.diff_analysis import DiffResult
    from pyhanko.sign.validation import SignatureCoverageLevel

    try:
        certificate = one.signer_cert
    except Exception as error:  # not only those that the library documents, where a signature is made up
        raise PackageError(f"bears a signature of the {role_of(one)} without the certificate that made it") from error
    if one.sig_object_type != "/Sig":
        raise PackageError("bears a timestamp of the whole document, which no package of deckcalc does")
    status, why = status_of(one, trust)
    stamp = status and status.timestamp_validity
    when = stamp.timestamp if stamp else one.self_reported_timestamp
    faults = [*why]
    if status and not (status.intact and status.valid):
        faults.append("what it signed was altered, or it belongs to another document: its sum is not that of the file")
    elif status and status.coverage not in (SignatureCoverageLevel.ENTIRE_FILE, SignatureCoverageLevel.ENTIRE_REVISION):
        faults.append("it does not cover the document as it stood when it was made")
    elif status and status.coverage == SignatureCoverageLevel.ENTIRE_REVISION:
        changed = [*changes(pdf[: one.byte_range[2] + one.byte_range[3]], pdf, {*later})]
        if not changed and not (isinstance(one.diff_result, DiffResult) and status.docmdp_ok):
            changed = [f"something that is no signature: {clipped(ascii(str(one.diff_result)), 120)}"]
        faults += [f"changed after it was made: {what}" for what in changed]
    if stamp and not (stamp.intact and stamp.valid):
        faults.append("its timestamp is not whole")
    first, last = certificate.not_valid_before, certificate.not_valid_after
    if when is None:
        faults.append("it does not say when it was made")
    elif not first <= when <= last:
        faults.append(f"its certificate is for {first:%Y-%m-%d} to {last:%Y-%m-%d}, and it was made {said(when)}")
    if when and before and before["moment"] and when < before["moment"]:
        faults.append(f"it says that it was made {said(when)}, before the signature that it follows")
    if trust and status and not status.trusted:
        faults.append("its certificate does not descend from those that are trusted")
    known = "descends from a trusted certificate" if trust else "its issuer was not judged; name roots with --trust"
    if certificate.self_signed != "no" and not trust:
        known = "self-made: nobody but the signer says whose it is"
    return {
        "role": role_of(one), "by": name_of(certificate.subject), "issuer": name_of(certificate.issuer),
        "when": said(when) if when else "at no time that it names", "moment": when,
        "stamped": name_of(stamp.signing_cert.subject) if stamp else "", "known": known,
        "faults": faults, "after": later,
    }  # fmt: skip


def status_of(one: EmbeddedPdfSignature, trust: Sequence[bytes]) -> tuple[Any, list[str]]:
    """Return what the library finds of a signature, or in words why it finds nothing."""
    from asn1crypto import x509
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.settings import KeyUsageConstraints
    from pyhanko_certvalidator import ValidationContext

    context: dict[str, Any] = {
        "trust_roots": [x509.Certificate.load(root) for root in trust],
        "other_certs": one.other_embedded_certs,
        "allow_fetching": False,
        "revocation_mode": "soft-fail",
    }
    usage = KeyUsageConstraints(key_usage={"digital_signature", "non_repudiation"}, match_all_key_usages=False)
    moment = one.self_reported_timestamp
    try:
        return validate_pdf_signature(
            one,
            ValidationContext(**context, moment=moment, best_signature_time=moment),
            ValidationContext(**context),
            key_usage_settings=usage,
        ), []
    except Exception as error:  # not only those that it documents, where a signature is made up
        return None, [f"it cannot be judged: {clipped(ascii(' '.join(str(error).split())), 160)}"]


def order(each: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Say where signatures do not stand in the order of their roles."""
    roles = [one["role"] for one in each if one["role"] in ROLES]
    if roles != [*ROLES[: len(roles)]]:
        yield f"the signatures stand in the order {', '.join(roles)}; wanted {', '.join(ROLES)}"


def uncovered(pdf: bytes, reader: PdfFileReader, found: Sequence[EmbeddedPdfSignature]) -> Iterator[str]:
    """Say what the signed revisions hold beside the filed document and the signatures."""
    if found[-1].coverage and found[-1].coverage.name != "ENTIRE_FILE" and len(found[-1].byte_range) == 4:
        more = len(pdf) - found[-1].byte_range[2] - found[-1].byte_range[3]
        if more > 0:
            yield f"{more} bytes stand after the last signature, which nobody signed"
    first = end_of_first(pdf, reader)
    changed = [*changes(pdf[:first], pdf, {*ROLES, *map(role_of, found)})] if first else ["its first revision is gone"]
    changed = changed or [*rewritten(reader, found[0].signed_revision)]
    for what in changed:
        yield f"changed after it was filed: {what}"


#: What a signature writes anew in the catalogue of a document, in its entries, in its metadata, and on the page where it stands.
CATALOGUE = {"/AcroForm", "/Perms", "/Metadata", "/Version", "/Extensions"}
WRITTEN = {
    "/Catalog": CATALOGUE,
    "/Page": {"/Annots"},
    "/Metadata": {"/Length", "/Filter"},
    "": {"/ModDate", "/Producer"},
}


def rewritten(reader: PdfFileReader, signed: int) -> Iterator[str]:
    """Say what of the filed document the first signature, or something before it, wrote otherwise.

    What signatures and later changes write after the first one is judged by the library; this is what it does not judge.
    """
    old, new = reader.get_historical_resolver(0), reader.get_historical_resolver(signed)
    there = {*reader.xrefs.explicit_refs_in_revision(0)}
    for revision in range(1, signed + 1):
        if reader.xrefs.refs_freed_in_revision(revision):
            yield "parts of it were taken out"
        for ref in sorted(there & {*reader.xrefs.explicit_refs_in_revision(revision)}, key=lambda one: one.idnum):
            was, now = old(ref), new(ref)
            if not isinstance(was, dict) or not isinstance(now, dict):
                if was != now:
                    yield f"part {ref.idnum} is another"
                continue
            kind = str(was.get("/Type", ""))
            named = {key for key in {*was, *now} if entry(was, key) != entry(now, key)}
            if beyond := named - WRITTEN.get(kind, set()):
                yield f"part {ref.idnum}, {clipped(ascii(', '.join(sorted(beyond))), 80)}, is another"
            elif not named and kind != "/Metadata" and getattr(was, "data", b"") != getattr(now, "data", b""):
                yield f"part {ref.idnum} is another"


def entry(holder: Any, key: str) -> Any:
    """Return an entry as it is written, a reference as a reference."""
    return holder.raw_get(key) if key in holder else None


def end_of_first(pdf: bytes, reader: PdfFileReader) -> int:
    """Return where the first revision ends, 0 where that cannot be said."""
    start = reader.xrefs.get_startxref_for_revision(0)
    found = re.compile(rb"startxref\s+%d\s+%%%%EOF\r?\n?" % start).search(pdf, start)
    return found.end() if found else 0


def changes(old: bytes, new: bytes, signing: set[str]) -> Iterator[str]:
    """Name what one revision shows otherwise than another; what the fields of the given names show may change."""
    was, now = (described(pdf, signing) for pdf in (old, new))
    for what in [key for key in {**was, **now} if was.get(key) != now.get(key)][: carried.NAMED]:
        yield f"{what} {'was added' if what not in was else 'was taken out' if what not in now else 'is another'}"


def described(pdf: bytes, signing: set[str]) -> dict[str, str]:
    """Return a hash of each thing that a document shows or carries, by what it is called."""
    found: dict[str, str] = {}
    with pikepdf.open(io.BytesIO(pdf), suppress_warnings=True) as document:
        fields = {one.objgen for one in fields_of(document)}
        for number, page in enumerate(document.pages, 1):
            found[f"page {number}"] = drawn_by(page.obj)
            for index, mark in enumerate(page.obj.get("/Annots", [])):
                name = str(mark.get("/T", ""))
                if mark.get("/Subtype") != "/Widget":
                    found[f"mark {index + 1} on page {number}"] = shown_by(mark)
                elif mark.objgen not in fields or mark.get("/FT") != "/Sig" or name not in signing:
                    found[f"form field {clipped(ascii(name), 40)} on page {number}"] = shown_by(mark)
        for name in document.attachments:
            found[f"attachment {clipped(name, 60)}"] = digest(
                document.attachments[name].get_file().obj.read_raw_bytes()
            )
        for key, value in document.docinfo.items():
            if key not in ("/ModDate", "/Producer"):
                found[f"entry {clipped(key[1:], 40)} of the document"] = digest(str(value).encode())
        with document.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as entries:
            for key in entries:
                if not key.endswith(("ModifyDate", "MetadataDate", "Producer", "InstanceID")):
                    found[f"entry {clipped(key.rpartition('}')[2], 40)} of the metadata"] = digest(
                        str(entries[key]).encode()
                    )
    return found


def digest(data: bytes) -> str:
    """Return a hash."""
    return hashlib.sha256(data).hexdigest()


def drawn_by(page: pikepdf.Object) -> str:
    """Return a hash of the size of a page and of all that it draws."""
    sizes = str([[float(edge) for edge in page.get(key, [])] for key in ("/MediaBox", "/CropBox")])
    parts = [one.read_raw_bytes() for one in carried.streams_of(page, set())]
    return digest(b"".join([f"{sizes} {page.get('/Rotate', 0)}".encode(), *parts]))


def shown_by(mark: pikepdf.Object) -> str:
    """Return a hash of what a mark or field says and draws."""
    words = [str(mark.get(key)) for key in ("/Subtype", "/Rect", "/Contents", "/V", "/F", "/QuadPoints")]
    states: Any = mark.get("/AP", {})
    shown = states.get("/N")
    data = shown.read_raw_bytes() if isinstance(shown, pikepdf.Stream) else b""
    return digest("\n".join(words).encode() + data)


def place_of(document: pikepdf.Pdf) -> list[float]:
    """Return page, left, top and width of the rows to sign in, below the heading of the sign-off."""
    names: Any = document.Root.get("/Names", {})
    if "/Dests" not in names:
        return []
    found: Any = pikepdf.NameTree(names["/Dests"]).get("sign-off")
    where = found.get("/D") if isinstance(found, pikepdf.Dictionary) else found
    for number, page in enumerate(document.pages):
        if where is not None and page.obj.objgen == where[0].objgen:
            return [number, float(where[2]), float(where[3]), float(page.mediabox[2])]
    return []


def role_of(one: EmbeddedPdfSignature) -> str:
    """Return the role of a signature, or the name of its field."""
    return clipped(ascii(one.field_name).strip("'"), 40)


def name_of(name: x509.Name) -> str:
    """Return whom a certificate names, in a line."""
    native = name.native
    parts = [native.get(key) for key in ("common_name", "organization_name", "country_name")]
    return clipped(", ".join(str(part) for part in parts if part) or name.human_friendly, 120)


def said(moment: datetime.datetime) -> str:
    """Return date, time and zone."""
    return moment.strftime(MOMENT)
