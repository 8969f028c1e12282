"""Home languages as schools write them (English, Spanish or own name, or an ISO 639 code) to BCP 47 tags.

Two-letter subtags where ISO 639-1 has one, else three letters, as BCP 47 (RFC 5646, 2.2.1) asks.
"""

from __future__ import annotations

import re
import unicodedata

# tag: other ISO 639 codes, then names in English, Spanish and the language itself (accents left out)
_NAMES = {
    "en": "eng, english, ingles",
    "es": "spa, spanish, espanol, castellano, castilian",
    "ar": "ara, arabic, arabe, العربية",
    "am": "amh, amharic, amharico, አማርኛ",
    "bn": "ben, bengali, bangla, বাংলা",
    "my": "mya, bur, burmese, birmano",
    "yue": "cantonese, cantones, chinese cantonese, 廣東話",
    "zh": "zho, chi, cmn, chinese, mandarin, chino, chinese mandarin, mandarin chinese, 中文",
    "hr": "hrv, croatian, croata",
    "cs": "ces, cze, czech, checo",
    "prs": "dari",
    "nl": "nld, dut, dutch, neerlandes",
    "fa": "fas, per, farsi, persian, persa, فارسی",
    "fil": "filipino, pilipino",
    "fr": "fra, fre, french, frances, francais",
    "de": "deu, ger, german, aleman, deutsch",
    "el": "ell, gre, greek, griego",
    "gu": "guj, gujarati",
    "ht": "hat, haitian creole, haitian, creole, kreyol, criollo haitiano, kreyol ayisyen",
    "ha": "hau, hausa",
    "he": "heb, hebrew, hebreo",
    "hi": "hin, hindi",
    "hmn": "hmong",
    "hu": "hun, hungarian, hungaro",
    "ig": "ibo, igbo",
    "ilo": "ilocano, ilokano",
    "id": "ind, indonesian, indonesio",
    "it": "ita, italian, italiano",
    "ja": "jpn, japanese, japones, 日本語",
    "kar": "karen",
    "km": "khm, khmer, cambodian, camboyano",
    "rw": "kin, kinyarwanda",
    "ko": "kor, korean, coreano, 한국어",
    "ku": "kur, kurdish, kurdo",
    "lo": "lao, laotian",
    "ml": "mal, malayalam",
    "mr": "mar, marathi",
    "mix": "mixteco, mixtec",
    "ne": "nep, nepali",
    "nv": "nav, navajo, dine",
    "om": "orm, oromo",
    "ps": "pus, pashto, pushto, pastun",
    "pl": "pol, polish, polaco, polski",
    "pt": "por, portuguese, portugues",
    "pa": "pan, punjabi, panjabi",
    "qu": "que, quechua, kichwa",
    "ro": "ron, rum, romanian, rumano",
    "ru": "rus, russian, ruso, русский",
    "sm": "smo, samoan, samoano",
    "sr": "srp, serbian, serbio",
    "so": "som, somali, soomaali",
    "sw": "swa, swahili, kiswahili, suajili",
    "tl": "tgl, tagalog",
    "ta": "tam, tamil",
    "te": "tel, telugu",
    "th": "tha, thai, tailandes",
    "ti": "tir, tigrinya, tigrigna",
    "tr": "tur, turkish, turco",
    "tw": "twi",
    "uk": "ukr, ukrainian, ucraniano, українська",
    "ur": "urd, urdu, اردو",
    "uz": "uzb, uzbek",
    "vi": "vie, vietnamese, vietnamita, tieng viet",
    "yo": "yor, yoruba",
    "ase": "asl, sgn, american sign language, sign language, lengua de senas",
}
_TAG_OF = {name.strip(): tag for tag, names in _NAMES.items() for name in (tag, *names.split(","))}
_REGIONAL = re.compile(r"([a-z]{2,3})[-_](?:[a-z]{4}[-_])?(?:[a-z]{2}|\d{3})")


def read_language(text: str) -> str | None:
    """The BCP 47 tag, or None where the language is not known here."""
    plain = unicodedata.normalize("NFKD", text).casefold()
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    plain = unicodedata.normalize("NFC", plain)
    if found := _REGIONAL.fullmatch(plain.strip()):
        return _TAG_OF.get(found[1])
    # "English (USA)", "Spanish; Castilian", "01 - Spanish": the first part that is known decides.
    for part in (plain, *re.split(r"[()/;,:\-]|\d+", plain)):
        tag = _TAG_OF.get(" ".join(part.split()))
        if tag:
            return tag
    return None
