"""Sign a filed document, and say what signatures one bears."""

from __future__ import annotations

import argparse
import getpass
import sys
import warnings
from collections.abc import Callable, Sequence
from pathlib import Path

from deckcalc.base.errors import PackageError
from deckcalc.base.signers import LAW, ROLES
from deckcalc.cli.printing import say_wrapped
from deckcalc.ends import say

#: The longest passphrase that is read.
LONGEST = 1024


def verify_options(one: argparse.ArgumentParser, place: Callable[[str], Path]) -> None:
    """Add the arguments of verify to its parser."""
    one.add_argument("file", type=place, help="filed document, package.pdf, or a signed one")
    one.add_argument("--trust", type=place, metavar="file",
                     help="certificates, PEM or DER, from which those of the signers must descend")  # fmt: skip


def sign_options(
    one: argparse.ArgumentParser, place: Callable[[str], Path], one_of: Callable[[Sequence[str]], Callable[[str], str]]
) -> None:
    """Add the arguments of sign to its parser."""
    one.add_argument("file", type=place, help="filed document, package.pdf, or one that others have signed")
    one.add_argument("--certificate", type=place, required=True, metavar="file",
                     help="certificate of the signer: .p12 or .pfx with its key, or PEM; the passphrase is asked for on the terminal "
                     "without being shown, or read as the first line of standard input where that is no terminal")  # fmt: skip
    one.add_argument(
        "--key", type=place, metavar="file", help="key in PEM, where it is not in the file of the certificate"
    )
    one.add_argument("--as", type=one_of(ROLES), dest="role", metavar="role",
                     help=f"{', '.join(ROLES)} (default: the next that has not signed)")  # fmt: skip
    one.add_argument("--out", type=place, metavar="file",
                     help="signed file (default: NAME-signed.pdf beside; one that bears signatures is signed on in its place)")  # fmt: skip
    one.add_argument("--timestamp", metavar="URL",
                     help="timestamp authority (RFC 3161) that confirms the time; asked over the network")  # fmt: skip


def passphrase() -> str:
    """Return a passphrase: asked for on the terminal without being shown, or the first line of standard input elsewhere."""
    if sys.stdin is not None and sys.stdin.isatty():
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", getpass.GetPassWarning)
                return getpass.getpass("Passphrase of the key: ")
        except (getpass.GetPassWarning, EOFError):
            raise PackageError("the passphrase cannot be asked for without being shown on this terminal") from None
    line = sys.stdin.readline(LONGEST) if sys.stdin is not None else ""
    if not line:
        raise PackageError(
            "the key is locked: its passphrase is wanted, on the terminal or as the first line of standard input"
        )
    return line.rstrip("\r\n")


def sign(options: argparse.Namespace) -> None:
    """Sign a filed document and say where the signed file is."""
    with_extra()
    from deckcalc.package import signing

    timestamper = None
    if options.timestamp:
        from pyhanko.sign.timestamps import HTTPTimeStamper

        timestamper = HTTPTimeStamper(options.timestamp)
    signer = signing.signer_of(options.certificate, options.key, passphrase)
    made = signing.sign(options.file, signer, options.role, options.out, timestamper)
    options.left = f"The signed document is complete: {made.path}."
    say(f"Signed as {made.role} by {made.by}: {made.path}")
    if made.named not in made.by:
        say_wrapped(f"The package names {made.named} as {made.role}; see that this is the same person.")
    say(f"Has yet to sign: {', '.join(made.left)}." if made.left else "All have signed.")
    say_wrapped(f"Its pages were not computed again here; “deckcalc verify” does that. {LAW}")


def verify(options: argparse.Namespace) -> int:
    """Say whether a filed PDF is as it was filed, and what signatures it bears; end with 1 where anything is not whole."""
    from deckcalc.package import carried

    pdf, signed = carried.data_of(options.file), None
    if carried.SIGNED in pdf:
        with_extra()
        from deckcalc.package import signatures

        carried.read_filed(options.file)
        roots = signatures.roots(options.trust) if options.trust else []
        signed = signatures.read(options.file, pdf, roots)
    elif options.trust:
        raise PackageError(f"{options.file} bears no signature; --trust is for those of one that does")
    found = carried.verify(options.file, signed.filed if signed else 0)
    if found:
        say(f"{options.file} is not as it was filed, or could not be made again:")
        for line in found:
            say_wrapped(line, 4, "  -")
    else:
        beneath = "the document beneath its signatures is " if signed and signed.signatures else ""
        say(f"{options.file}: {beneath}the same, byte for byte, as its inputs give it here.")
    if signed is None or not (signed.signatures or signed.faults):
        return int(bool(found))
    say("", "Signatures")
    for one in signed.signatures:
        say_wrapped(f"{one.role}: {'NOT WHOLE' if one.faults else 'whole'}; {one.by}; {one.when}", 4, "  -")
        clock = f"time confirmed by {one.stamped}" if one.stamped else "time by the signer’s own clock"
        after = ", ".join(f"the signature of the {role}" for role in one.after) or "nothing"
        say_wrapped(f"certificate by {one.issuer}, {one.known}; {clock}", 6)
        for fault in one.faults:
            say_wrapped(fault, 6)
        if not one.faults:
            say_wrapped(f"added after it: {after}", 6)
    for fault in signed.faults:
        say_wrapped(fault, 4, "  -")
    done = [one.role for one in signed.signatures]
    if left := [role for role in ROLES if role not in done]:
        say(f"  Not signed by the {', the '.join(left)}.")
    say("")
    say_wrapped(f"{signatures.NOT_ASKED} {LAW}")
    return int(bool(found) or not signed.whole)


def with_extra() -> None:
    """Ask for what reads and makes signatures, where it is not installed."""
    try:
        import pyhanko.sign  # noqa: F401
    except ImportError:
        raise PackageError(
            'signatures want more than is installed: python -m pip install "deckcalc[signing]"'
        ) from None
