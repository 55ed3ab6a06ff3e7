"""What is installed in this environment as a bill of materials (CycloneDX 1.6, JSON): python -m toeline.deploy.sbom.

The same environment gives the same bytes: there is neither a time nor a number of the document in them.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterable
from importlib.metadata import Distribution, distributions
from typing import Any

OWN = "toeline"


def bill(found: Iterable[Distribution]) -> dict[str, Any]:
    """The bill of some distributions; the one of the service itself is what the others are for."""
    parts = {part["purl"]: part for part in map(component, found)}
    known = [parts[purl] for purl in sorted(parts)]
    own = next((part for part in known if part["name"] == OWN), {"type": "application", "name": OWN})
    return {
        "bomFormat": "CycloneDX",
        "specVersion": "1.6",
        "version": 1,
        "metadata": {"component": {**own, "type": "application"}},
        "components": [part for part in known if part["name"] != OWN],
    }


def component(found: Distribution) -> dict[str, Any]:
    """One distribution: name as indexes write it, version, and the licence as its author states it."""
    name = re.sub(r"[-_.]+", "-", found.metadata["Name"]).lower()
    stated = _field(found, "License-Expression") or _field(found, "License") or _classified(found)
    purl = f"pkg:pypi/{name}@{found.version}"
    part = {"type": "library", "bom-ref": purl, "name": name, "version": found.version, "purl": purl}
    licence = {"licenses": [{"license": {"name": stated.strip().splitlines()[0]}}]} if stated and stated.strip() else {}
    return {**part, **licence}


def _field(found: Distribution, name: str) -> str | None:
    return found.metadata[name] if name in found.metadata else None  # noqa: SIM401 - what reads it may have no get


def _classified(found: Distribution) -> str:
    told = [each for each in found.metadata.get_all("Classifier") or () if each.startswith("License ::")]
    return ", ".join(each.rpartition(" :: ")[2] for each in told)


def main() -> None:
    """Writes the bill of this environment to standard output."""
    sys.stdout.write(json.dumps(bill(distributions()), indent=2) + "\n")


if __name__ == "__main__":
    main()
