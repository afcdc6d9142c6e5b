"""The folder where the authority and the server's certificate are kept.

A file is written whole under another name and renamed: whoever reads finds the old one or the
new one. A certificate and its key are one file, so the two always fit.
"""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from shop.phone.lan.authority import Pair


@dataclass(frozen=True, slots=True)
class Folder:
    """``lan`` of the data folder; nobody but its owner reads in it."""

    path: Path

    @property
    def authority_file(self) -> Path:
        """The authority: its key is what a thief would want."""
        return self.path / "authority.pem"

    @property
    def server_file(self) -> Path:
        """What the server shows and the key it proves it with."""
        return self.path / "server.pem"

    @property
    def address_file(self) -> Path:
        """The name and port by which phones know the shop, for who starts it again."""
        return self.path / "address"

    def authority(self) -> Pair | None:
        """Raises ``ValueError`` when what is there is no authority any more."""
        return self._pair(self.authority_file)

    def leaf(self) -> Pair | None:
        """Raises ``ValueError`` likewise."""
        return self._pair(self.server_file)

    def address(self) -> tuple[str, int] | None:
        """Name and port as they were last, if they can be read."""
        try:
            name, port = self.address_file.read_text().split()
            return name, int(port)
        except (FileNotFoundError, ValueError):
            return None

    def keep_first_authority(self, made: Pair) -> Pair:
        """Keep an authority where there is none; the one that is kept now. Never puts one in
        place of another: every phone would have to be set up again."""
        draft = self._draft(made.pem)
        try:
            os.link(draft, self.authority_file)
        except FileExistsError:
            kept = self.authority()
            assert kept is not None, "it is there, and nobody takes one away"
            return kept
        finally:
            draft.unlink()
        self._reach_the_disk()
        return made

    def keep_server(self, pem: bytes) -> None:
        self._replace(self.server_file, pem)

    def keep_address(self, name: str, port: int) -> None:
        self._replace(self.address_file, f"{name} {port}\n".encode())

    @staticmethod
    def _pair(path: Path) -> Pair | None:
        try:
            return Pair.read(path.read_bytes())
        except FileNotFoundError:
            return None

    def _replace(self, path: Path, content: bytes) -> None:
        self._draft(content).replace(path)
        self._reach_the_disk()

    def _draft(self, content: bytes) -> Path:
        """A new file in the folder, readable by its owner only, and on the disk."""
        self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
        self.path.chmod(0o700)
        with tempfile.NamedTemporaryFile(dir=self.path, prefix=".draft-", delete=False) as draft:
            draft.write(content)
            draft.flush()
            os.fsync(draft.fileno())
        return Path(draft.name)

    def _reach_the_disk(self) -> None:
        """A new name outlives a power cut once its folder is written."""
        folder = os.open(self.path, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
