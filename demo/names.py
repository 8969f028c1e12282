"""Invented names: pools of given and family names by origin, and how a child's name is made from them.

Only names live here. Given and family names are drawn independently, so that no pair is meant as anybody.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random


@dataclass(frozen=True, slots=True)
class Origin:
    """One pool of names. ``share`` is its part of the children; ``languages`` are BCP 47 tags to draw from.

    ``family`` makes a family name from the pool, since peoples differ in how many a child bears.
    """

    share: float
    languages: tuple[str, ...]
    given: tuple[str, ...]
    families: tuple[str, ...]
    family: Callable[[Random, tuple[str, ...]], str]
    adults: tuple[str, ...]


def _one(rng: Random, families: tuple[str, ...]) -> str:
    return rng.choice(families)


def _mostly_two(rng: Random, families: tuple[str, ...]) -> str:
    """Mostly a father's and a mother's family name, as in Spanish-speaking families."""
    first, second = rng.sample(families, 2)
    return first if rng.random() < 0.3 else f"{first} {second}"


def _sometimes_joined(rng: Random, families: tuple[str, ...]) -> str:
    """Now and then two family names joined by a hyphen."""
    first, second = rng.sample(families, 2)
    return f"{first}-{second}" if rng.random() < 0.07 else first


def _words(text: str) -> tuple[str, ...]:
    return tuple(word.replace("_", " ") for word in text.split())


ORIGINS: dict[str, Origin] = {
    "english": Origin(
        0.36,
        ("en",),
        _words(
            "Harper Mason Everly Wyatt Hazel Owen Nora Caleb Piper Silas Juniper Levi Ivy Asher Willa Ezra "
            "Maeve Beckett Tessa Rowan Clara Jasper Lila Declan Sadie Brooks Adeline Finn Marlowe Theo "
            "Elsie Hudson Paisley Griffin Autumn Micah Delaney Tucker Fern Calvin Quinn Emmett Gemma Holden "
            "Bridget Amos Wren Desmond Imani Tyrell Nia Malik Aaliyah DeShawn Kiara Jalen Zariah Marcus "
            "Mary_Ann John_Paul"
        ),
        _words(
            "Ashdown Brackley Cottrell Dunmore Ellery Farrow Garside Hollis Inchbald Jessop Kettering "
            "Larkham Merriweather Norcott Oakshott Pellow Quarles Redfern Stanhope Tillery Underhay Venner "
            "Whitlock Yarrow Abernathy Birdsong Crenshaw Dockery Eubanks Fairchild Gaither Hargrove Ivory "
            "Kincaid Lockridge Mayfield Nettles Overby Pettiford Ransome Satterfield Thornbury Upchurch "
            "Vickery Winfield O'Dowd O'Hanlon McGillan MacInnery FitzRoland St._Clere Van_Horne"
        ),
        _sometimes_joined,
        _words("Karen Dale Monique Trevor Janice Curtis Lorraine Wesley Denise Gregory Yvonne Stuart"),
    ),
    "spanish": Origin(
        0.27,
        ("es", "es", "es", "en"),
        _words(
            "María_José Santiago Ximena Mateo Valentina Emiliano Camila Joaquín Renata Iker Daniela Leonel "
            "Sofía Ángel Guadalupe Rubén Itzel Andrés Marisol Héctor Belén Tomás Paloma Óscar Noelia Gael "
            "Yaretzi Nicolás Dulce_María José_Luis Luz Iván Ainhoa Ramiro Estrella Ulises Jimena Beatriz "
            "Ismael Araceli"
        ),
        _words(
            "Barrientos Castellanos Delgadillo Echeverría Fuentes Galindo Hinojosa Ibáñez Jaramillo Laguna "
            "Montaño Nájera Olvera Peñaloza Quintanilla Robledo Saldaña Tamayo Urrutia Villaseñor Yáñez "
            "Zamudio Arreola Bustamante Carrizales Dávila Escobedo Figueroa Guajardo Herrejón Lucero "
            "Mireles Núñez Ocampo Prado Rentería Sepúlveda Treviño Valadez de_la_Garza del_Río"
        ),
        _mostly_two,
        _words("Rosario Ernesto Leticia Arturo Graciela Rogelio Norma Efraín Silvia Armando"),
    ),
    "vietnamese": Origin(
        0.05,
        ("vi", "vi", "en"),
        _words("Minh An Khôi Thảo Bảo Linh Phúc Ngân Quân Trâm Huy Vy Đạt Khánh Ngọc_Anh"),
        _words("Nguyễn Trần Phạm Huỳnh Đặng Bùi Đỗ Dương Lý Vương"),
        _one,
        _words("Hạnh Tuấn Loan Dũng Mai Hùng"),
    ),
    "chinese": Origin(
        0.04,
        ("zh", "en"),
        _words("Yiran Zihan Haoyu Jiaqi Xinyi Muchen Ruoxi Tianyou Yutong Lexuan Grace Kevin"),
        _words("Ouyang Xie Zhuang Guo Peng Tian Shao Qiu Fang Lü"),
        _one,
        _words("Xiuying Jianguo Lihua Weimin Fangfang"),
    ),
    "korean": Origin(
        0.02,
        ("ko", "en"),
        _words("Seo-yeon Ji-ho Ha-eun Min-jun Yuna Do-yun Chae-won Eun-woo"),
        _words("Baek Noh Seok Hwang Yoon Pyo Moon"),
        _one,
        _words("Eun-ju Sung-min Mi-kyung Jae-hyun"),
    ),
    "arabic": Origin(
        0.05,
        ("ar", "ar", "en"),
        _words("Layan Yusuf Maryam Idris Salma Hamza Noor Zayd Rania Bilal Jana Tariq Amina Suhaib"),
        _words("al-Khatib Haddad Mansour Qasim el-Masri Barakat Nasser al-Amin Saleh Khoury"),
        _one,
        _words("Samira Nabil Huda Fadi Lina Karim"),
    ),
    "somali": Origin(
        0.03,
        ("so", "en"),
        _words("Hodan Abdirahman Ifrah Liban Sagal Guled Ayaan Warsame Fartun Zakariye"),
        _words("Warfa Jama Egal Farah Duale Abshir Hirsi Samatar"),
        _one,
        _words("Asha Mahad Hibaq Bashir"),
    ),
    "punjabi": Origin(
        0.03,
        ("pa", "en"),
        _words("Gurleen Harjot Simrat Ekam Jasleen Fateh Anaya Kirpal Navdeep Manraj"),
        _words("Kaur_Dhindsa Singh_Brar Sandhu Grewal Dhaliwal Bajwa Kaur Singh"),
        _one,
        _words("Paramjit Baldev Kulwinder Satnam"),
    ),
    "telugu and tamil": Origin(
        0.02,
        ("te", "ta", "en"),
        _words("Aadhya Karthik Saanvi Vihaan Meenakshi Pranav Tanvi Arjun Lakshmi Sriram"),
        _words("Venkataraman Gopalakrishnan Reddivari Chintala Subramaniam Ayyagari Palaniswamy"),
        _one,
        _words("Padma Ravi Sumathi Prakash"),
    ),
    "polish and ukrainian": Origin(
        0.03,
        ("pl", "uk", "en"),
        _words("Zofia Kacper Maja Łukasz Oksana Taras Hanna Bohdan Solomiya Wojciech Kalina Ostap"),
        _words("Wiśniowska Zieliński Kowalczuk Szymczak Hrytsenko Bondarchuk Gołębiewski Petryshyn Żuraw"),
        _one,
        _words("Halyna Marek Iryna Andrzej Bożena"),
    ),
    "west african": Origin(
        0.03,
        ("en", "yo", "ig", "fr"),
        _words("Chidera Oluwaseun Adaeze Kwame Folake Emeka Ama Babajide Ngozi Kofi Aïssatou Mamadou"),
        _words("Okonjoku Adebayo Nwachukwu Boateng Ogunbiyi Mensah Eze Diallo Sarpong Fofana"),
        _one,
        _words("Blessing Tunde Akosua Ifeanyi Fatou"),
    ),
    "filipino": Origin(
        0.03,
        ("tl", "en"),
        _words("Althea Jomar Princess_Joy Rodel Amihan Crisanto Tala Jerome Ligaya Bayani"),
        _words("Macaraeg Dimaculangan Pangilinan Batungbakal Catacutan de_los_Reyes Sumaway Manalastas"),
        _one,
        _words("Rosalinda Danilo Maricel Benigno"),
    ),
    "portuguese and haitian": Origin(
        0.02,
        ("pt", "ht", "en"),
        _words("João Beatriz Caetano Luana Wideline Jean-Marc Rafaela Thiago Naïka Anaïs"),
        _words("dos_Anjos Figueiredo Valadão Gonçalves Desrosiers Pierre-Toussaint Lafontant Brandão"),
        _one,
        _words("Conceição Edson Marie-Ange Wilner"),
    ),
    "german, nordic and others": Origin(
        0.02,
        ("en", "de", "en"),
        _words("Jürgen Maëlle Søren Åsa Björn Anneliese Zoë Matthias Freya Noëlle"),
        _words(
            "Großmann Lindqvist Ødegaard Schäfer van_der_Meulen von_Ahlen d'Arcangelo Müllenbach Thorkelsson"
        ),
        _one,
        _words("Ingrid Klaus Mireille Gunnar"),
    ),
}


def draw_origin(rng: Random) -> str:
    """The name of one origin, drawn by its share."""
    names = list(ORIGINS)
    return rng.choices(names, [ORIGINS[name].share for name in names])[0]


# School systems print a language as its English name.
LANGUAGE_NAMES = {
    "en": "English",
    "es": "Spanish",
    "vi": "Vietnamese",
    "zh": "Chinese",
    "ko": "Korean",
    "ar": "Arabic",
    "so": "Somali",
    "pa": "Punjabi",
    "te": "Telugu",
    "ta": "Tamil",
    "pl": "Polish",
    "uk": "Ukrainian",
    "yo": "Yoruba",
    "ig": "Igbo",
    "fr": "French",
    "tl": "Tagalog",
    "pt": "Portuguese",
    "ht": "Haitian Creole",
    "de": "German",
}
