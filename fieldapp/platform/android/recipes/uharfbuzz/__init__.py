"""uharfbuzz with the HarfBuzz that it brings along (a git submodule), compiled as C++."""

from pythonforandroid.recipe import PyProjectRecipe


class UharfbuzzRecipe(PyProjectRecipe):
    name = "uharfbuzz"
    version = "v0.57.0"
    url = "git+https://github.com/harfbuzz/uharfbuzz.git"
    site_packages_name = "uharfbuzz"
    hostpython_prerequisites = ["cython", "pkgconfig", "setuptools_scm", "wheel"]  # noqa: RUF012
    need_stl_shared = True

    def get_recipe_env(self, arch, **kwargs):
        """The headers of the tablet's Python, and a version that a shallow clone cannot tell."""
        env = super().get_recipe_env(arch, **kwargs)
        headers = " -I" + self.ctx.python_recipe.include_root(arch.arch)
        env["CFLAGS"] += headers
        env["CPPFLAGS"] = env.get("CPPFLAGS", "") + headers
        env["LDFLAGS"] += " -shared"
        env["SETUPTOOLS_SCM_PRETEND_VERSION"] = self.version.lstrip("v")
        return env


recipe = UharfbuzzRecipe()
