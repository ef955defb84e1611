"""What the scripts say in the other languages: one script a language, beside the files of the pages."""

from __future__ import annotations

import json

from service.actions.frame.languages import speeches, words_of_scripts
from service.domain.words.speech import ENGLISH, spoken


def words_files() -> dict[str, bytes]:
    """The script that gives the scripts their words, for every language but English: they hold that."""
    return {_name(code): _script(code) for code in speeches() if code != ENGLISH}


def words_name() -> str:
    """The name of the script of the language being spoken; empty in English."""
    code = spoken().code
    return "" if code == ENGLISH else _name(code)


def _name(code: str) -> str:
    return f"words-{code}.js"


def _script(code: str) -> bytes:
    said, rule = words_of_scripts(code)
    told = json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return f"globalThis.WORDS={told};\nglobalThis.PLURAL=(n)=>Number({rule});\n".encode()
