"""Reading and writing whole files, with a plain sentence for whatever the disk refuses."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from nesting.errors import InputError

from .errors import StorageError

LARGEST = 50_000_000


def read_bytes(path: str | Path) -> bytes:
    """A file's bytes. Raises InputError where it is missing, a folder or too large, StorageError where unreadable."""
    path = Path(path)
    field = f"file {path}"
    try:
        if path.is_dir():
            raise InputError(field, "a file", "a folder", "Name the file in it.")
        if path.stat().st_size > LARGEST:
            raise InputError(field, f"at most {LARGEST // 1_000_000} MB", "a larger file", "Is it the right one?")
        return path.read_bytes()
    except InputError:
        raise
    except (FileNotFoundError, NotADirectoryError):
        raise InputError(field, "a file that is there", "none", "Check its name and the folder you are in.") from None
    except PermissionError:
        raise StorageError(f"{path} may not be read. Check its permissions.") from None
    except (OSError, ValueError) as error:
        raise StorageError(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}.") from None


def read_text(path: str | Path) -> str:
    """A file's text. Raises as `read_bytes`, and InputError where it is not UTF-8."""
    try:
        return read_bytes(path).decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"file {path}", "text saved as UTF-8", f"another encoding at byte {error.start + 1:,}",
                         "Save it again as UTF-8 (in a spreadsheet: CSV UTF-8).") from None  # fmt: skip


def write_whole(path: str | Path, data: bytes) -> None:
    """Writes a file all at once: whole, or not at all. Raises InputError for a folder, else StorageError."""
    path = Path(path)
    if path.is_dir():
        raise InputError(f"file {path}", "a file to write", "a folder", "Name a file in it.")
    draft = path.with_name(f".{path.name[:40]}.{os.getpid()}.part")
    try:
        with open(draft, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, path)
    except (FileNotFoundError, NotADirectoryError):
        raise StorageError(f"The folder {path.parent} is not there. Make it first, or name another.") from None
    except PermissionError:
        raise StorageError(f"{path} may not be written. Choose a folder of your own.") from None
    except (OSError, ValueError) as error:
        raise StorageError(f"{path} cannot be written: {getattr(error, 'strerror', None) or error}.") from None
    finally:
        with contextlib.suppress(OSError, ValueError):
            draft.unlink(missing_ok=True)
