"""The standard's own schema, as a judge of documents."""

import json
from pathlib import Path

from jsonschema import Draft7Validator
from referencing import Registry, Resource

HERE = Path(__file__).parent
DOCUMENTS = HERE / "documents"


def _registry():
    schemas = [json.loads(p.read_text(encoding="utf-8")) for p in (HERE / "schema").glob("*.json")]
    return Registry().with_resources((s["$id"], Resource.from_contents(s)) for s in schemas)


REGISTRY = _registry()


def faults_of_schema(document):
    """Return what the schema has against a document, as texts."""
    schema = json.loads((HERE / "schema/beer.json").read_text(encoding="utf-8"))
    found = Draft7Validator(schema, registry=REGISTRY).iter_errors(document)
    return [f"{error.json_path}: {error.message[:100]}" for error in found]
