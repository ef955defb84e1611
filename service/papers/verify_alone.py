"""Verify a record: that every file is the one that its manifest lists. The rest is not checked yet."""

from __future__ import annotations

import hashlib
import json
import sys
import zipfile


def main(where: str) -> int:
    with zipfile.ZipFile(where) as record:
        for file in json.loads(record.read("manifest.json"))["files"]:
            if hashlib.sha256(record.read(file["path"])).hexdigest() != file["sha256"]:
                print(f"{file['path']} was replaced.")
                return 1
    print("Every file is listed. Whether the history is whole was not proved.")
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
