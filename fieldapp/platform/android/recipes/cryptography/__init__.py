"""cryptography at a release with HPKE (from 47 on); python-for-android 2026.05.09 carries 46.0.3."""

from pythonforandroid.recipes.cryptography import CryptographyRecipe


class CurrentCryptographyRecipe(CryptographyRecipe):
    name = "cryptography"
    version = "50.0.2"
    url = "https://github.com/pyca/cryptography/archive/refs/tags/{version}.tar.gz"


recipe = CurrentCryptographyRecipe()
