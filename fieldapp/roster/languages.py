"""Home languages as schools write them (English, Spanish or own name, or an ISO 639 code) to BCP 47 tags.

Two-letter subtags where ISO 639-1 has one, else three letters, as BCP 47 (RFC 5646, 2.2.1) asks.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

# tag: other ISO 639 codes, then names in English, Spanish and the language itself (accents left out)
_NAMES = {
    "en": "eng, english, ingles",
    "es": "spa, spanish, espanol, castellano, castilian",
    "ar": "ara, arabic, arabe, العربية",
    "am": "amh, amharic, amharico, አማርኛ, amarico",
    "bn": "ben, bengali, bangla, বাংলা",
    "my": "mya, bur, burmese, birmano, မြန်မာ",
    "yue": "cantonese, cantones, chinese cantonese, 廣東話, 粵語",
    "zh": "zho, chi, cmn, chinese, mandarin, chino, chinese mandarin, mandarin chinese, 中文",
    "hr": "hrv, croatian, croata, hrvatski",
    "cs": "ces, cze, czech, checo, cestina",
    "prs": "dari",
    "nl": "nld, dut, dutch, neerlandes, nederlands",
    "fa": "fas, per, farsi, persian, persa, فارسی",
    "fil": "filipino, pilipino",
    "fr": "fra, fre, french, frances, francais",
    "de": "deu, ger, german, aleman, deutsch",
    "el": "ell, gre, greek, griego, Ελληνικά",
    "gu": "guj, gujarati, guyarati, ગુજરાતી",
    "ht": "hat, haitian creole, haitian, creole, kreyol, criollo haitiano, kreyol ayisyen",
    "ha": "hau, hausa",
    "he": "heb, hebrew, hebreo, עברית",
    "hi": "hin, hindi, हिन्दी",
    "hmn": "hmong",
    "hu": "hun, hungarian, hungaro, magyar",
    "ig": "ibo, igbo",
    "ilo": "ilocano, ilokano, iloko",
    "id": "ind, indonesian, indonesio, indonesia, bahasa indonesia",
    "it": "ita, italian, italiano",
    "ja": "jpn, japanese, japones, 日本語",
    "kar": "karen",
    "km": "khm, khmer, cambodian, camboyano, jemer, ខ្មែរ",
    "rw": "kin, kinyarwanda, ikinyarwanda",
    "ko": "kor, korean, coreano, 한국어",
    "ku": "kur, kurdish, kurdo",
    "lo": "lao, laotian, ລາວ",
    "ml": "mal, malayalam, മലയാളം",
    "mr": "mar, marathi, marati, मराठी",
    "mix": "mixteco, mixtec",
    "ne": "nep, nepali, नेपाली",
    "nv": "nav, navajo, dine, dine bizaad",
    "om": "orm, oromo, oromoo, afaan oromoo",
    "ps": "pus, pashto, pushto, pastun, پښتو",
    "pl": "pol, polish, polaco, polski",
    "pt": "por, portuguese, portugues",
    "pa": "pan, punjabi, panjabi, punyabi, ਪੰਜਾਬੀ",
    "qu": "que, quechua, kichwa, runasimi",
    "ro": "ron, rum, romanian, rumano, romana",
    "ru": "rus, russian, ruso, русский",
    "sm": "smo, samoan, samoano",
    "sr": "srp, serbian, serbio, српски",
    "so": "som, somali, soomaali",
    "sw": "swa, swahili, kiswahili, suajili",
    "tl": "tgl, tagalog, tagalo",
    "ta": "tam, tamil, தமிழ்",
    "te": "tel, telugu, తెలుగు",
    "th": "tha, thai, tailandes, ไทย",
    "ti": "tir, tigrinya, tigrigna, tigriña, ትግርኛ",
    "tr": "tur, turkish, turco, türkçe",
    "tw": "twi",
    "uk": "ukr, ukrainian, ucraniano, українська",
    "ur": "urd, urdu, اردو",
    "uz": "uzb, uzbek, uzbeko, o'zbek",
    "vi": "vie, vietnamese, vietnamita, tieng viet",
    "yo": "yor, yoruba",
    "ase": "asl, sgn, american sign language, sign language, lengua de senas, lengua de senas americana",
}
_REGIONAL = re.compile(r"([a-z]{2,3})[-_](?:[a-z]{4}[-_])?(?:[a-z]{2}|\d{3})")


def _plain(text: str) -> str:
    """Lower case without accents, single spaces."""
    text = unicodedata.normalize("NFKD", text).casefold()
    return " ".join("".join(c for c in text if not unicodedata.combining(c)).split())


_TAG_OF = {_plain(name): tag for tag, names in _NAMES.items() for name in (tag, *names.split(","))}


@lru_cache(maxsize=256)  # a school writes a few dozen
def read_language(text: str) -> str | None:
    """The BCP 47 tag, or None where the language is not known here."""
    plain = _plain(text)
    if found := _REGIONAL.fullmatch(plain):
        return _TAG_OF.get(found[1])
    # "English (USA)", "Spanish; Castilian", "01 - Spanish": the first part that is known decides.
    for part in (plain, *re.split(r"[()/;,:\-]|\d+", plain)):
        tag = _TAG_OF.get(" ".join(part.split()))
        if tag:
            return tag
    return None
