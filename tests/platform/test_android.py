"""The way onto an Android tablet, as far as this machine can show it: the list of packages, the recipe, the start.

What Android lacks is judged by CPython's own reference ("not Android"), by PEP 738, and by the pinned release of
python-for-android (each named where it is used). Nothing is built here.
"""

from __future__ import annotations

import ast
import configparser
import os
import re
import subprocess
import sys
import tomllib
from importlib import metadata
from pathlib import Path
from xml.etree import ElementTree

import pytest
from packaging.markers import default_environment
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

HOUSE = Path(__file__).resolve().parents[2]
ANDROID = HOUSE / "fieldapp" / "platform" / "android"
ROOMS = ("shared", "sync", "fieldapp", "assets")
SAID = tomllib.loads((ANDROID / "packages.toml").read_text("utf-8"))
PACKAGES = SAID["packages"]
LEFT_OUT = SAID["left-out"]
# PEP 508 markers are judged as CPython on Android would (PEP 738: sys.platform is "android").
TABLET = {**default_environment(), "sys_platform": "android", "platform_machine": "aarch64", "extra": ""}


def tracked(*patterns: str) -> list[str]:
    """The app's files that git knows and that are there, all or those of these patterns."""
    rooms = [f"{room}/{pattern}" for room in ROOMS for pattern in patterns or ("",)]
    listed = subprocess.run(
        ["git", "ls-files", *rooms], cwd=HOUSE, capture_output=True, text=True, check=True
    )
    return [file for file in listed.stdout.splitlines() if (HOUSE / file).is_file()]


def spec() -> configparser.SectionProxy:
    read = configparser.ConfigParser(interpolation=None)
    read.read(ANDROID / "buildozer.spec", "utf-8")
    return read["app"]


def needed() -> dict[str, set[str]]:
    """Every package that the app needs at run time, with the requirements put on it."""
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text("utf-8"))["project"]
    found: dict[str, set[str]] = {}
    open_ends = [Requirement(line) for line in project["dependencies"]]
    while open_ends:
        requirement = open_ends.pop()
        if requirement.marker is not None and not requirement.marker.evaluate(TABLET):
            continue
        name = canonicalize_name(requirement.name)
        first_time = name not in found
        found.setdefault(name, set()).add(str(requirement.specifier))
        if first_time and name not in LEFT_OUT:
            open_ends += [Requirement(line) for line in metadata.requires(name) or ()]
    return found


def has_compiled_parts(name: str) -> bool:
    """Whether the package as installed here has them."""
    return any(re.search(r"\.(so|pyd)(\.|$)", file.name) for file in metadata.files(name) or ())


def recipe_version(name: str) -> str:
    """The version in one of our recipes, read without python-for-android."""
    tree = ast.parse((ANDROID / "recipes" / name / "__init__.py").read_text("utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "version":
            return str(ast.literal_eval(node.value)).removeprefix("v")
    raise AssertionError(f"{name}: no version")


# -- the packages ----------------------------------------------------------------------------------------


def test_every_package_at_run_time_is_on_the_list_at_a_version_that_is_asked_for():
    for name, specifiers in needed().items():
        if name in LEFT_OUT:
            continue
        assert name in PACKAGES, f"{name} is needed and not in packages.toml"
        for specifier in specifiers:
            version = PACKAGES[name]["version"]
            assert Requirement(f"{name}{specifier}").specifier.contains(version), (name, specifier, version)
    assert set(PACKAGES) <= set(needed()), "packages.toml lists what nothing needs"


def test_what_is_compiled_has_a_recipe():
    for name, package in PACKAGES.items():
        if package["how"] == "own":
            assert (ANDROID / "recipes" / name / "__init__.py").is_file(), name
        if package["how"] == "pure":
            # charset-normalizer is compiled where a wheel fits the machine; its other wheel is pure, and pip
            # takes that one for Android.
            assert name == "charset-normalizer" or not has_compiled_parts(name), name


def test_our_recipes_have_the_versions_of_the_list():
    folders = {folder.name for folder in (ANDROID / "recipes").iterdir() if folder.name != "__pycache__"}
    own = {name for name, package in PACKAGES.items() if package["how"] == "own"}
    assert folders == own | {"openssl"}
    for name in own:
        assert recipe_version(name) == PACKAGES[name]["version"]
    assert recipe_version("openssl") == SAID["python-for-android"]["openssl"]


def test_the_cryptography_carries_what_the_app_uses():
    """HPKE came with cryptography 47, Argon2id needs OpenSSL 3.2 (cryptography's changelog, 44.0.0 read)."""
    assert int(PACKAGES["cryptography"]["version"].split(".")[0]) >= 47
    major, minor, _ = (int(part) for part in SAID["python-for-android"]["openssl"].split("."))
    assert (major, minor) >= (3, 2)


def test_nothing_imports_what_is_left_out():
    used = set()
    for room in ROOMS:
        for file in (HOUSE / room).rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text("utf-8"))):
                if isinstance(node, ast.Import):
                    used |= {alias.name for alias in node.names}
                elif isinstance(node, ast.ImportFrom):
                    used.add(node.module or "")
    tops = {name.partition(".")[0] for name in used}
    assert not tops & {"docutils", "pygments", "garden"}
    assert not any(name.startswith(("kivy.garden", "kivy.uix.rst", "kivy.uix.codeinput")) for name in used)


# -- the recipe ------------------------------------------------------------------------------------------


def test_buildozer_asks_for_exactly_the_list():
    asked = dict(line.strip().partition("==")[::2] for line in spec()["requirements"].split(","))
    base = SAID["python-for-android"]
    assert asked.pop("python3") == asked.pop("hostpython3") == base["python"]
    assert asked.pop("openssl") == base["openssl"]
    for name, version in asked.items():
        # a requirement's version stands for a recipe's, whose tag for uharfbuzz is not its version
        assert version == ("" if name == "uharfbuzz" else PACKAGES[name]["version"]), name
    assert set(PACKAGES) - set(asked) == {"cffi", "pycparser"}  # cryptography's recipe brings them
    assert spec()["p4a.branch"] == f"v{base['release']}"


def test_no_permission_beyond_the_network():
    asked = {each.strip() for each in spec()["android.permissions"].split(",")}
    assert asked == {"android.permission.INTERNET", "android.permission.ACCESS_NETWORK_STATE"}
    assert spec()["android.wakelock"] == "False"  # it would add one


def test_nothing_is_backed_up_or_moved():
    """``allowBackup`` for all versions, data extraction rules for Android 12 on (Android's reference, from memory)."""
    assert spec()["android.allow_backup"] == "False"
    rules = ElementTree.parse(ANDROID / spec()["android.res_xml"]).getroot()
    for way in ("cloud-backup", "device-transfer"):
        part = rules.find(way)
        assert part is not None
        left = {exclude.get("domain") for exclude in part.iter("exclude") if exclude.get("path") == "."}
        assert {"root", "file", "database", "sharedpref", "external"} <= left
    name = Path(spec()["android.res_xml"]).stem
    arguments = (ANDROID / spec()["android.extra_manifest_application_arguments"]).read_text("utf-8")
    assert f'android:dataExtractionRules="@xml/{name}"' in arguments


def test_the_only_window_keeps_its_content_to_itself():
    activity = spec()["android.entrypoint"]
    assert activity == spec()["android.activity_class_name"]
    java = (
        (ANDROID / spec()["android.add_src"] / Path(*activity.split(".")))
        .with_suffix(".java")
        .read_text("utf-8")
    )
    package, _, name = activity.rpartition(".")
    assert f"package {package};" in java
    assert f"class {name} extends PythonActivity" in java
    assert java.index("LayoutParams.FLAG_SECURE") < java.index("super.onCreate")


def test_landscape():
    assert spec()["orientation"] == "landscape"


def test_every_kind_of_data_file_is_packaged():
    kinds = set(spec()["source.include_exts"].split(","))
    for file in tracked():
        if not file.startswith("fieldapp/platform/android/"):
            assert Path(file).suffix.removeprefix(".") in kinds, file


@pytest.fixture(scope="module")
def stage(tmp_path_factory) -> Path:
    """The folder to build in, as ``stage.sh`` lays it out."""
    folder = tmp_path_factory.mktemp("stage")
    subprocess.run([ANDROID / "stage.sh", folder], check=True, capture_output=True)
    return folder


def test_the_stage_is_whole(stage):
    for part in (
        "buildozer.spec",
        "app/main.py",
        "app/fieldapp/platform/android/start.py",
        "app/assets/fonts",
    ):
        assert (stage / part).exists(), part
    for key in ("android.res_xml", "android.extra_manifest_application_arguments", "android.add_src"):
        assert (stage / spec()[key]).exists(), key
    assert (stage / spec()["p4a.local_recipes"] / "cryptography" / "__init__.py").exists()
    assert not (stage / "app" / "fieldapp" / "platform" / "android" / "recipes").exists()


def test_every_module_of_the_app_is_on_the_stage(stage):
    for file in tracked("*.py"):
        if file == "assets/fonts/build.py" or file.startswith("fieldapp/platform/android/recipes/"):
            continue  # for the machine that builds
        if file == "fieldapp/platform/android/main.py":
            file = "main.py"  # where python-for-android looks for it
        assert (stage / "app" / file).is_file(), file


def test_python_for_android_itself_takes_the_recipes():
    """With python-for-android at the pinned release installed: it loads every recipe and finds an order."""
    tool = pytest.importorskip("pythonforandroid", reason="pip install python-for-android==2026.5.9")
    assert tool.__version__ == SAID["python-for-android"]["release"]
    from pythonforandroid.bootstrap import Bootstrap
    from pythonforandroid.build import Context
    from pythonforandroid.graph import get_recipe_order_and_bootstrap
    from pythonforandroid.recipe import Recipe

    context = Context()
    context.local_recipes = str(ANDROID / "recipes")
    names = [line.strip().partition("==")[0] for line in spec()["requirements"].split(",")]
    order, modules, _ = get_recipe_order_and_bootstrap(
        context, names, Bootstrap.get_bootstrap("sdl2", context)
    )
    for name, package in PACKAGES.items():
        if package["how"] == "pure":
            assert name in modules
        else:
            assert name in order
            assert Recipe.get_recipe(name, context).version.removeprefix("v") == package["version"]
    assert Recipe.get_recipe("openssl", context).version == SAID["python-for-android"]["openssl"]
    assert Recipe.get_recipe("python3", context).version == SAID["python-for-android"]["python"]


# -- the start -------------------------------------------------------------------------------------------


def started(*words: str) -> str:
    ran = subprocess.run(
        [sys.executable, "-OO", "-B", Path(__file__).with_name("android_start.py"), *words],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    return ran.stdout


def test_the_app_starts_without_what_android_lacks(stage):
    told = started(str(stage / "app"))
    assert "all right, without docstrings and assertions" in told
    assert not {"multiprocessing", "readline", "tkinter", "curses", "grp"} & set(re.findall(r"\w+", told))


@pytest.mark.window
@pytest.mark.skipif(not os.environ.get("DISPLAY"), reason="needs a display")
def test_the_screens_too():
    assert "all right" in started("--window")


def test_the_store_and_the_exchange_lie_where_android_wants_them(tmp_path):
    from fieldapp.platform.android.start import exchange_folder, store_path

    store = store_path({"ANDROID_PRIVATE": str(tmp_path)})
    assert store.is_relative_to(tmp_path)
    assert exchange_folder(store.parent) == store.parent  # no Android here: beside the store
