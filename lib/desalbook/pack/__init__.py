"""The pack: lists, tests, drawings, offer and index of a sized plant, as documents that print well.

Everything is read from the sized plant; nothing of it runs while a plant is sized.
"""

from __future__ import annotations

from desalbook.pack.document import Document
from desalbook.pack.printing import Head, page
from desalbook.pack.register import PARTS, documents
from desalbook.pack.write import Issued, write_pack

__all__ = ["PARTS", "Document", "Head", "Issued", "documents", "page", "write_pack"]
