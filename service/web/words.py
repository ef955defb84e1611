"""What the scripts say in the language of a page: one script a language, named by a hash of what it holds."""

from __future__ import annotations

import hashlib
import json
from functools import cache

from service.actions.languages import words_of_scripts
from service.domain.speech import ENGLISH, spoken


@cache
def words_script(code: str) -> tuple[bytes, str]:
    """The script that gives the scripts their words in this language, and its version."""
    said, rule = words_of_scripts(code)
    told = json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    body = f"globalThis.WORDS={told};\nglobalThis.PLURAL=(n)=>Number({rule});\n".encode()
    return body, hashlib.sha256(body).hexdigest()[:12]


def words_href() -> str:
    """Its address for the language being spoken; empty in English, whose words the scripts hold."""
    code = spoken().code
    return "" if code == ENGLISH else f"/words/{code}.js?v={words_script(code)[1]}"
