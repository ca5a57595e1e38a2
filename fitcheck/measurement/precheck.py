"""What can be said of a STEP file without a CAD kernel: whether it is one at all, and its content hash."""

from __future__ import annotations

import hashlib
import os

from fitcheck.errors import StepFileError

HEAD = b"ISO-10303-21"
TAIL = b"END-ISO-10303-21"


def content_hash(path: str) -> str:
    """SHA-256 of a STEP file's bytes, in hexadecimal.

    Raises:
        StepFileError: there is no such file, it cannot be read, or it is no complete STEP file; says which.
    """
    try:
        if os.path.isdir(path):
            msg = "is a folder; a STEP file is needed"
            raise StepFileError(msg, path)
        with open(path, "rb") as stream:
            data = stream.read()
    except FileNotFoundError:
        msg = "there is no such file"
        raise StepFileError(msg, path) from None
    except PermissionError:
        msg = "no permission to read it"
        raise StepFileError(msg, path) from None
    except StepFileError:
        raise
    except OSError as error:
        msg = f"it cannot be read: {error.strerror or error}"
        raise StepFileError(msg, path) from error
    _refuse_others(path, data)
    return hashlib.sha256(data).hexdigest()


def _refuse_others(path: str, data: bytes) -> None:
    # Keywords in small letters are readable all the same.
    head = data[:4096].lstrip().upper()
    msg = ""
    if not data.strip():
        msg = "the file is empty; export it again"
    elif head.startswith(b"VERSION HTTPS://GIT-LFS"):
        msg = "this is a Git LFS pointer, not the STEP file itself; run 'git lfs pull'"
    elif data.startswith((b"\xff\xfe", b"\xfe\xff")) or (HEAD in head.replace(b"\0", b"") and HEAD not in head):
        msg = "the STEP file is stored as UTF-16 text, which no STEP reader takes; export it again, or save it as UTF-8"
    elif data.startswith(b"\xef\xbb\xbf"):
        msg = "a byte order mark stands before ISO-10303-21, which the STEP reader cannot take; save it without one"
    elif data.startswith((b"PK\x03\x04", b"\x1f\x8b")):
        msg = "the file is packed (zip or gzip); unpack it, and give the STEP file in it"
    elif HEAD not in head:
        msg = (
            "this is no STEP file: it does not begin with ISO-10303-21; export the part as STEP (AP203, AP214 or AP242)"
        )
    elif not _ends_well(data):
        msg = "the STEP file is cut off: END-ISO-10303-21 is missing at its end; export or copy it again"
    if msg:
        raise StepFileError(msg, path)


def _ends_well(data: bytes) -> bool:
    """Whether the file has its last line, behind which a signature may stand (ISO 10303-21, edition 3)."""
    if TAIL in data[-4096:].upper():
        return True
    text = data.upper()
    end = text.rfind(TAIL)
    return end >= 0 and text[end:].find(b"SIGNATURE") >= 0 and text[end:].rstrip().endswith(b"ENDSEC;")
