"""The check phrase: three plain words that stand for a certificate, for two people to compare. The words live here.

They are the same English words whatever language a screen speaks: two screens in two languages are compared as well.
"""

from __future__ import annotations

from hashlib import sha256

# 128 short words, none of which sounds like another; their order is part of the protocol (``NEARBY.md``).
_LIST = """\
acorn alder amber anchor apple arrow autumn badge bamboo basket beacon berry birch blanket bonnet bottle
branch bread bridge bronze bucket butter button cactus camel candle canvas carrot castle cedar chalk cherry
circle clover cobalt comet copper coral cotton cradle crayon curtain daisy desert dolphin donkey dragon eagle
easel ember falcon feather fiddle flint forest fossil garden ginger glacier glove grape hammer harbor hazel
helmet heron honey igloo island ivory jacket jasmine jungle kettle kitten ladder lagoon lantern lemon lilac
lizard magnet mango maple marble meadow melon mirror mitten nectar needle nickel oasis olive orange orchid
otter paddle paper parrot pebble pencil pepper pillow planet pocket pumpkin quartz rabbit raven ribbon river
rocket saddle salmon silver spruce summit teapot thimble timber tulip tunnel velvet violet walnut willow window
"""
WORDS = tuple(_LIST.split())
assert len(WORDS) == len(set(WORDS)) == 128


def check_phrase(certificate: bytes) -> str:
    """The phrase of a certificate (DER): 7 bits a word from the front of its SHA-256.

    It shows a person that two devices belong to one visit before they are connected. It decides nothing: what
    may connect is decided by the certificates alone.
    """
    number = int.from_bytes(sha256(certificate).digest()[:3], "big") >> 3
    return "-".join(WORDS[(number >> shift) & 127] for shift in (14, 7, 0))
