#!/usr/bin/env python3
"""Holds demo files, cards and results against Withy's own JSON Schemas.

    check.py WITHY      WITHY is the program; run it from the top folder

Needs jsonschema, which reads schemas its own way, and Python 3.11 for its TOML reader. Each schema must take what the
program takes, and refuse an unknown key, a missing drawing and a wrong unit.
"""
import copy
import json
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

import jsonschema


def schema(program, what):
    text = subprocess.run([program, "schema", what], check=True, capture_output=True, text=True).stdout
    found = json.loads(text)
    kind = jsonschema.validators.validator_for(found)
    kind.check_schema(found)
    return kind(found)


def must_hold(validator, value, name):
    errors = [f"{name}: {'/'.join(map(str, e.path))}: {e.message}" for e in validator.iter_errors(value)]
    if errors:
        sys.exit("\n".join(errors))


def must_refuse(validator, value, change, name):
    value = copy.deepcopy(value)
    change(value)
    if validator.is_valid(value):
        sys.exit(f"the schema takes {name}")


def main():
    program = sys.argv[1]
    part, card = schema(program, "part"), schema(program, "card")
    names = sorted(p for p in Path("demo-data").glob("*/*.toml") if "outline" in p.read_text()) + [Path("cli/templates/part.toml")]
    parts = {str(p): tomllib.loads(p.read_text()) for p in names}
    for name, value in parts.items():
        must_hold(part, value, name)
    kicker = parts["demo-data/kicker/kicker.toml"]
    must_refuse(part, kicker, lambda v: v.update(stepz=1), "an unknown key")
    must_refuse(part, kicker, lambda v: v["outline"].update(thicknes="6 mm"), "an unknown key of a table")
    must_refuse(part, kicker, lambda v: v["outline"].update(thickness=[6]), "a list for a length")
    must_refuse(part, kicker, lambda v: v.pop("outline"), "a part without an outline")
    cards = sorted(Path("cli/cards").glob("*.toml"))
    for path in cards:
        value = tomllib.loads(path.read_text())
        must_hold(card, value, str(path))
        must_refuse(card, value, lambda v: v["youngs_modulus"].update(hihg=1), "an unknown key of a property")
    with tempfile.TemporaryDirectory() as out:
        kicker = "demo-data/kicker/kicker"
        for command, what, more in (
            ("solve", "summary", ("demo-data/clip/clip.toml", "--accuracy", "20 %")),
            ("compare", "compare", ("demo-data/clip/clip.toml", "--accuracy", "20 %")),
            ("set", "set", ("demo-data/clip/clip.toml", "--accuracy", "20 %")),
            ("release", "release", (f"{kicker}.toml",)),
            ("spread", "spread", (f"{kicker}.toml",)),
            ("reconcile", "reconcile", (f"{kicker}.toml", "--pull", "demo-data/kicker/pull.csv", "--speeds", "demo-data/kicker/speeds.csv")),
        ):
            run = [program, command, *more, "--out", out, "--quiet"]
            subprocess.run(run, check=True, capture_output=True)
            value = json.loads((Path(out) / f"{what}.json").read_text())
            validator = schema(program, what)
            must_hold(validator, value, f"{what}.json")
            must_refuse(validator, value, lambda v: v.pop("format"), f"{what}.json without its format")
            must_refuse(validator, value, lambda v: v.update(mood="fine"), f"an unknown key of {what}.json")
    print(f"{len(parts)} part files, {len(cards)} cards and six results are as their schemas say")


if __name__ == "__main__":
    main()
