"""Write docs/schema/*.json from the types of the JSON answers. Run it after the types change; a test compares them."""

import json
from pathlib import Path

from pydantic import TypeAdapter

from gaswright.exchange.answer_types import ANSWERS

__all__ = ["schema_texts"]

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "schema"


def schema_texts() -> dict[str, str]:
    """File name to the text of each schema."""
    return {f"{name}.json": _text(name, answer) for name, answer in ANSWERS.items()}


def _text(name: str, answer: type) -> str:
    schema = TypeAdapter(answer).json_schema()
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": f"gaswright.{name}/1"}
    return json.dumps({**head, **schema}, indent=2, sort_keys=True) + "\n"


def main() -> None:
    """Write every schema."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in schema_texts().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
        print(f"docs/schema/{name}")


if __name__ == "__main__":
    main()
