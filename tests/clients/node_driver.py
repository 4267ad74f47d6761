"""How does a test speak with a client that runs in Node?"""

import json
import subprocess
from pathlib import Path
from typing import Any

from tests.clients.driver import Document, Place, Refused
from tests.clients.node_install import Node

STOP_SECONDS = 10.0


class NodeDriver:
    """A Node process that takes orders as lines of JSON. ``script``: its name in ``at``."""

    def __init__(self, place: Place, at: Path, of: Node, script: str) -> None:
        self.process = subprocess.Popen(
            [str(of.program), script],
            cwd=at,
            env={**of.environment(), "FHIR_BASE": place.base, "FHIR_KEY": place.key},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def order(self, act: str, **words: Any) -> Any:
        """What ``act`` answers. Raises Refused for the server's no."""
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.write(json.dumps({"act": act, **words}) + "\n")
        self.process.stdin.flush()
        line = self.process.stdout.readline()
        assert line, "The client's process ended."
        said = json.loads(line)
        if "refused" in said:
            raise Refused(said["refused"]["status"], said["refused"]["document"])
        assert "failed" not in said, said["failed"]
        return said["answer"]

    def metadata(self) -> Document:
        return self._document("metadata")

    def read(self, kind: str, id: str) -> Document:
        return self._document("read", resourceType=kind, id=id)

    def pages(self, kind: str, query: dict[str, str]) -> list[Document]:
        pages: list[Document] = self.order("pages", resourceType=kind, searchParams=query)
        return pages

    def create(self, resource: Document) -> Document:
        document: Document = self._document("create", body=resource)["document"]
        return document

    def update(self, resource: Document, if_match: str) -> Document:
        return self._document("update", body=resource, headers={"If-Match": if_match})

    def transaction(self, bundle: Document) -> Document:
        return self._document("transaction", body=bundle)

    def close(self) -> None:
        assert self.process.stdin is not None and self.process.stdout is not None
        self.process.stdin.close()
        try:
            self.process.wait(STOP_SECONDS)
        finally:
            self.process.kill()
            self.process.stdout.close()

    def _document(self, act: str, **words: Any) -> Document:
        document: Document = self.order(act, **words)
        return document
