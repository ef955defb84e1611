"""Which primitives the service uses, which modules speak to other machines, and how statements are written.

Each list is whole: a use that stands in none of them fails. Numbers are those of OWASP ASVS 5.0.0.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator

from tests.whole.test_source_habits import PYTHON, ROOT

# 11.1.2: every primitive by the name it is imported or called by, and what it is for. All have 128 bits of
# security and more (NIST SP 800-57 part 1 revision 5, table 2: from memory).
PRIMITIVES = {
    "AESGCM": "seals secrets of second factors, and what is pushed to a phone (RFC 8188)",
    "Ed25519PrivateKey": "signs histories",
    "Ed25519PublicKey": "checks them",
    "ec": "P-256: signs and agrees on keys for web push (RFC 8291, RFC 8292)",
    "SHA256": "the hash under P-256's signature",
    "decode_dss_signature": "that signature in the form of RFC 7518",
    "x509": "reads the certificates of a timestamp authority",
    "PasswordHasher": "argon2id for passwords",
    "Type": "which argon2",
    "hashlib.sha256": "trees, tokens, names, files, versions",
    "hashlib.file_digest": "SHA-256 of a file",
    "hmac.new": "HKDF with SHA-256, for web push",
    "hmac.compare_digest": "comparing without telling by time",
    "pyotp": "codes of an app (RFC 6238), whose authenticators ask for HMAC with SHA-1",
    "webauthn": "passkeys",
    "joserfc": "the signature of a company's ID token, by the list of company.ALGORITHMS",
    "asn1crypto": "reads timestamps",
}
FORMS = {
    "Encoding", "PublicFormat", "PrivateFormat", "NoEncryption", "BestAvailableEncryption",
    "load_pem_private_key", "load_pem_public_key", "load_der_public_key",
}  # fmt: skip
LIBRARIES = {"pyotp", "webauthn", "joserfc", "asn1crypto"}
NOT_FOR_SECRETS = {"cryptography.exceptions", "argon2.exceptions"}

# 13.1.1: who speaks to another machine, and to which. README and settings.py say how each is named.
OUTSIDE = {
    "service/actions/entrance/company.py": "the company's provider",
    "service/actions/telling/push_services.py": "the push service that a phone names",
    "service/actions/telling/sending_told.py": "the mail server",
    "service/actions/evidence/timestamping.py": "the timestamp authority",
    "service/storage/blobs/store.py": "the object store",
}
SPEAKS = {
    "httpx",
    "requests",
    "smtplib",
    "boto3",
    "urllib3",
    "aiohttp",
    "ftplib",
    "http.client",
    "urllib.request",
}


def imported(tree: ast.AST) -> Iterator[tuple[str, str]]:
    """Each import of a text as module and name."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, "") for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from ((node.module or "", alias.name) for alias in node.names)


def primitives_of(source: str) -> set[str]:
    """What this text of Python takes from libraries of cryptography."""
    tree, found = ast.parse(source), set()
    for module, name in imported(tree):
        root = module.partition(".")[0]
        if root in LIBRARIES:
            found.add(root)
        elif root in ("cryptography", "argon2", "Crypto", "nacl") and module not in NOT_FOR_SECRETS:
            found.add(name or module)
    for node in ast.walk(tree):
        of = getattr(getattr(node, "value", None), "id", "")
        if isinstance(node, ast.Attribute) and of in ("hashlib", "hmac"):
            found.add(f"{of}.{node.attr}")
    return found - FORMS


def unchecked(source: str) -> list[str]:
    """Calls of this text that take a machine's certificate unseen (12.3.2)."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            said = {word.arg: ast.unparse(word.value) for word in node.keywords}
            name = ast.unparse(node.func)
            loose = said.get("verify") == "False" or said.get("cert_reqs", "").endswith("CERT_NONE")
            blind = name.endswith((".starttls", ".SMTP_SSL")) and "context" not in said
            found += [name] if loose or blind else []
        if isinstance(node, ast.Attribute) and node.attr in (
            "CERT_NONE", "_create_unverified_context", "check_hostname",
        ):  # fmt: skip
            found.append(node.attr)
    return found


def statements_made(source: str) -> list[str]:
    """Statements of SQL that this text puts together out of anything but its own words (1.2.4)."""
    tree = ast.parse(source)
    if not any(module.startswith(("sqlalchemy", "sqlmodel", "pysqlite3")) for module, _ in imported(tree)):
        return []
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and node.args:
            name = getattr(node.func, "attr", getattr(node.func, "id", ""))
            made = isinstance(node.args[0], ast.JoinedStr | ast.BinOp) or (
                isinstance(node.args[0], ast.Call) and ast.unparse(node.args[0].func).endswith(".format")
            )
            if name in ("text", "exec_driver_sql", "execute", "executemany", "literal_column") and made:
                found.append(ast.unparse(node))
    return found


def in_service() -> dict[str, str]:
    return {
        str(file.relative_to(ROOT)): file.read_text() for file in PYTHON if "migrations" not in file.parts
    }


def test_every_primitive_that_the_service_uses_is_listed_and_every_one_listed_is_used() -> None:
    """11.1.2, 11.2.3, 11.3.1, 11.3.2: no other cipher, mode, padding, curve or hash."""
    used = set().union(*map(primitives_of, in_service().values()))
    assert used == PRIMITIVES.keys()


def test_every_module_that_speaks_to_another_machine_is_listed() -> None:
    """13.1.1"""
    speaking = {
        name
        for name, source in in_service().items()
        if any(
            module in SPEAKS or module.partition(".")[0] in SPEAKS
            for module, _ in imported(ast.parse(source))
        )
    }
    assert speaking == OUTSIDE.keys()


def test_no_certificate_of_another_machine_is_taken_unseen() -> None:
    """12.3.2"""
    found = {name: unchecked(source) for name, source in in_service().items()}
    assert {name: why for name, why in found.items() if why} == {}


def test_no_statement_is_put_together_out_of_what_came_in() -> None:
    """1.2.4: these two are made, out of names that the sources hold."""
    found = [one for source in in_service().values() for one in statements_made(source)]
    assert len(found) == 2
    assert "PRAGMA {pragma}" in found[0] + found[1] and "pg_get_serial_sequence" in found[0] + found[1]


def test_a_source_that_does_otherwise_is_found() -> None:
    assert primitives_of("from cryptography.hazmat.primitives.ciphers import modes") == {"modes"}
    assert primitives_of("hashlib.md5(b'')") == {"hashlib.md5"}
    assert unchecked("httpx.get(x, verify=False)") == ["httpx.get"]
    assert unchecked("server.starttls()") == ["server.starttls"]
    assert unchecked("context.check_hostname = False") == ["check_hostname"]
    made = "from sqlalchemy import text\nsession.execute(text(f'SELECT {x}'))\nsession.execute('a' + x)"
    assert len(statements_made(made)) == 2


def test_the_list_of_signatures_of_an_id_token_holds_public_keys_alone() -> None:
    from service.actions.entrance.company import ALGORITHMS

    assert set(ALGORITHMS) == {"RS256", "PS256", "ES256", "EdDSA"}
