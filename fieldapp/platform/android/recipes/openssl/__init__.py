"""OpenSSL of the long-term line 3.5, built as python-for-android builds its own older one.

Argon2id came with OpenSSL 3.2. python-for-android 2026.05.09 carries 3.3.1, whose support has ended.
"""

from pythonforandroid.recipes.openssl import OpenSSLRecipe


class LongTermOpenSSLRecipe(OpenSSLRecipe):
    version = "3.5.6"
    url = "https://github.com/openssl/openssl/releases/download/openssl-{version}/openssl-{version}.tar.gz"


recipe = LongTermOpenSSLRecipe()
