"""ReportLab as it is since version 4: pure Python, so that the wheel is simply unpacked.

python-for-android 2026.05.09 has a recipe for a much older, compiled one; this one stands before it.
"""

from pythonforandroid.recipe import PyProjectRecipe


class CurrentReportLabRecipe(PyProjectRecipe):
    name = "reportlab"
    version = "5.1.0"
    url = None
    site_packages_name = "reportlab"

    def build_arch(self, arch):
        """Take the wheel that fits every machine; there is nothing to compile."""
        if not self.install_prebuilt_wheel(arch):
            raise RuntimeError(f"pip found no wheel of {self.get_pip_name()}")


recipe = CurrentReportLabRecipe()
