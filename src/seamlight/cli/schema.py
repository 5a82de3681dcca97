"""`seamlight schema VERB`: the JSON Schema of a verb's document."""

from __future__ import annotations

import argparse
import json

from seamlight.cli.options import Verbs
from seamlight.document import Document
from seamlight.grain.document import ReadDocument
from seamlight.grain.tone_document import ToneDocument
from seamlight.layout.document import LayoutDocument
from seamlight.layout.rack_document import RackDocument
from seamlight.plate.document import TapDocument
from seamlight.seam.document import SeamDocument
from seamlight.shop.check import CheckDocument
from seamlight.timber.air_document import AirDocument

DOCUMENTS: dict[str, type[Document]] = {
    "read": ReadDocument,
    "tone": ToneDocument,
    "layout": LayoutDocument,
    "rack": RackDocument,
    "seam": SeamDocument,
    "edge": SeamDocument,
    "tap": TapDocument,
    "deflect": TapDocument,
    "air": AirDocument,
    "check": CheckDocument,
}


def add_verb(verbs: Verbs) -> None:
    """Add `schema`."""
    parser = verbs.add_parser("schema", help="the JSON Schema of a verb's document")
    parser.add_argument("verb", choices=tuple(DOCUMENTS))
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> None:
    """Print the schema."""
    print(json.dumps(DOCUMENTS[args.verb].model_json_schema(by_alias=True), indent=2))
