"""Fuzzing what reads bytes of strangers: the session and every decoder of sync. Only documented errors may come out.

    python tests/sync/nearby/fuzz.py                     # 100,000 inputs a target, mutated at random from seeds
    python tests/sync/nearby/fuzz.py --inputs 1000000 --target return
    python tests/sync/nearby/fuzz.py --coverage --target session -- -runs=200000      # needs pip install atheris

Random mutation needs nothing but Python and runs in CI in a short form (``test_fuzz.py``). With ``--coverage`` the
same targets are guided by atheris; what follows ``--`` goes to libFuzzer.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import sys
from pathlib import Path
from types import ModuleType

HOUSE = Path(__file__).resolve().parents[3]
TARGETS = "tests.sync.nearby.fuzz_targets"


def guided(name: str, words: list[str]) -> None:
    """Run one target under atheris, which watches which lines of our own code each input reaches."""
    import atheris

    with atheris.instrument_imports(include=["sync", "shared", "fieldapp.services.nearby.address"]):
        targets = importlib.import_module(TARGETS)
    run = targets.TARGETS[name].run

    def one(data: bytes) -> None:
        with contextlib.suppress(targets.QuietbellError):
            run(data)

    corpus = HOUSE / "out" / "fuzz" / name
    corpus.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(targets.TARGETS[name].seeds()):
        (corpus / f"seed-{number}").write_bytes(seed)
    atheris.Setup([sys.argv[0], f"-artifact_prefix={corpus.parent}/", *words, str(corpus)], one)
    atheris.Fuzz()


def main() -> None:
    sys.path.insert(0, str(HOUSE))
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--target", nargs="+", help="all unless given")
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--coverage", action="store_true")
    parser.add_argument("words", nargs="*")
    asked = parser.parse_args()
    if asked.coverage:
        (name,) = asked.target or ["session"]
        guided(name, asked.words)
        return
    targets: ModuleType = importlib.import_module(TARGETS)
    for name in asked.target or targets.TARGETS:
        refused = targets.fuzz(name, asked.inputs, asked.seed)
        print(f"{name}: {asked.inputs} inputs, {refused} refused in words, the rest read", flush=True)


if __name__ == "__main__":
    main()
