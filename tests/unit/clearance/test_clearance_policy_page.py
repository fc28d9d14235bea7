"""The page of the policy is made from the policy."""

import importlib.util
from pathlib import Path
from types import ModuleType

from gaswright.catalogue import CATALOGUE
from gaswright.exchange.policy_file import POLICY_NAMES

ROOT = Path(__file__).parents[3]


def script() -> ModuleType:
    """The script that makes the page."""
    spec = importlib.util.spec_from_file_location("policy_page", ROOT / "scripts" / "policy_page.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_current() -> None:
    """docs/policy.md is what the script writes now; if not, run scripts/policy_page.py."""
    written = (ROOT / "docs" / "policy.md").read_text(encoding="utf-8")
    assert written == script().page()


def test_the_page_names_every_setting_and_every_finding() -> None:
    """Nothing that is judged is left out."""
    text = (ROOT / "docs" / "policy.md").read_text(encoding="utf-8")
    assert not [name for name in (*POLICY_NAMES, *CATALOGUE) if f"| `{name}` |" not in text]
