"""python-bidi, whose algorithm is a Rust library."""

from pythonforandroid.recipe import RustCompiledComponentsRecipe


class PythonBidiRecipe(RustCompiledComponentsRecipe):
    name = "python-bidi"
    version = "0.6.12"
    url = "https://github.com/MeirKriheli/python-bidi/archive/refs/tags/v{version}.tar.gz"
    site_packages_name = "bidi"


recipe = PythonBidiRecipe()
