"""Titles, grades, languages and names, one by one."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.languages import language_names
from fieldapp.roster.columns import columns_of, field_of, find_header
from fieldapp.roster.grades import read_grade
from fieldapp.roster.languages import _NAMES, read_language
from fieldapp.roster.people import address_of, guardian_of, number_of, split_name

TITLES = {
    "student_number": "Student ID|Student Number|STUDENT_NUMBER|Stu #|Student No.|ID|Perm ID|Pupil ID|Matrícula|"
    "Número de estudiante|studentNumber|Local ID|ID del alumno|Student Id Number",
    "given": "First Name|FirstName|FIRST_NAME|Given Name|First|Student First Name|Nombre(s)|Primer nombre|givenName|"
    "Student's First Name|Legal First Name|Nombres del alumno",
    "family": "Last Name|LastName|Surname|Family Name|Last|Student Last Name|Apellidos|Apellido|Apellido paterno|"
    "familyName|Apellidos del estudiante|Last Name (Legal)",
    "name": "Name|Student Name|Full Name|Student|Last, First|Name (Last, First)|Apellidos, Nombre|Nombre completo|"
    "Nombre del alumno|Alumno|Last Name, First Name|Student Name (Last, First Middle)|Apellidos y nombres",
    "born": "DOB|D.O.B.|Birth Date|BirthDate|Birthdate|Date of Birth|Date Of Birth|Student DOB|Fecha de nacimiento|"
    "F. Nacimiento|Fecha Nac.|birthDate|Birthday",
    "grade": "Grade|Gr|Gr.|Grade Level|GRADE_LEVEL|Grado|Grades|Grd|Current Grade|Student Grade",
    "class_name": "Class|Homeroom|Home Room|HR|Teacher|Room|Section|Clase|Grupo|Salón|Maestra|Homeroom Teacher|Aula",
    "language": "Home Language|Home Lang|Language|Primary Language|Idioma|Idioma del hogar|Lengua materna|"
    "Language at home",
    "guardian": "Guardian|Parent/Guardian|Parent Name|Guardian Name|Padre o tutor|Padre/Madre/Tutor|Parent/Guardian 1|"
    "Guardian 1 Name|Tutor",
    "address": "Address|Mailing Address|Home Address|Street Address|Dirección|Domicilio|Address 1|Street",
    "city": "City|Ciudad|Mailing City",
    "state": "State|Estado",
    "post_code": "Zip|ZIP Code|Postal Code|Código Postal|C.P.",
}


@pytest.mark.parametrize(("field", "title"), [(f, t) for f, ts in TITLES.items() for t in ts.split("|")])
def test_titles_are_understood(field: str, title: str) -> None:
    # Titles as school systems and offices print them: common practice, no source.
    found = field_of(title)
    assert found is not None, title
    assert found[0] == field


@pytest.mark.parametrize(
    "title", ["", "Bus", "Gender", "Phone", "Lunch", "Email", "Middle Name", "Notes", "Birth City"]
)
def test_other_titles_are_left_alone(title: str) -> None:
    assert field_of(title) is None


def test_the_name_beside_a_family_name_is_the_given_one() -> None:
    assert columns_of(["Apellidos", "Nombre"]).places == {"family": 0, "given": 1}


def test_a_full_name_beside_both_parts_is_not_used() -> None:
    assert columns_of(["Name", "First Name", "Last Name"]).places == {"given": 1, "family": 2}


def test_the_better_title_wins() -> None:
    columns = columns_of(["State ID", "Student ID", "First Name", "Last Name"])
    assert columns.titles["student_number"] == "Student ID"
    assert columns.unused == ("State ID",)


def test_the_header_is_found_below_titles_and_group_headings() -> None:
    rows = [
        ["Quillmarsh School"],
        ["Student", "", "", "Guardian", ""],
        ["First", "Last", "DOB", "Guardian first name", "Guardian last name"],
        ["Ann", "Brook", "2017-05-02", "Bea", "Brook"],
    ]
    found = find_header(rows)
    assert found is not None
    assert found[0] == 2


# Grade codes of the Common Education Data Standards as OneRoster uses them (from memory), and common spellings
# (common practice, no source).
GRADES = {
    "PK": "PK|Pre-K|PreK|pre k|Prekindergarten|Pre-Kindergarten|Preschool|PR|P4|PK4|-1|Preescolar|Pre-Kinder",
    "TK": "TK|tk|Transitional Kindergarten",
    "K": "K|KG|Kindergarten|kinder|0|00|KF|Kdg|Kinder.|K.|Kindergarten (full day)|Kínder",
    "1": "1|01|1st|1.0|Grade 1|1st Grade|Gr. 1|First|Primero|1º|1°|1er|1ro|001|Gr 01|1ro Grado|1er grado|G1",
    "2": "2|02|2nd|2ND|Second|Segundo|2do|Second Grade",
    "3": "3|03|3rd|Tercero|3ro|3er",
    "5": "05|5th|Quinto|5to",
    "7": "7mo|7th|Séptimo",
    "10": "10|10th|Sophomore",
    "12": "12|12th|Grade 12|Senior",
    "UG": "UG|Ungraded",
}


@pytest.mark.parametrize(("grade", "text"), [(g, t) for g, ts in GRADES.items() for t in ts.split("|")])
def test_grades_are_read(grade: str, text: str) -> None:
    assert read_grade(text) == grade


@pytest.mark.parametrize("text", ["", "Rivera", "13", "99", "3B", "2017-05-02", "S-10432", "K-3", "1/2"])
def test_what_is_no_grade(text: str) -> None:
    assert read_grade(text) is None


@given(st.text(max_size=20))
def test_any_text_may_stand_in_a_grade_cell(text: str) -> None:
    assert read_grade(text) in {None, "PK", "TK", "K", "UG", *map(str, range(1, 13))}


# Names as the Unicode CLDR (read through Babel 2.18, a one-time comparison of the whole list) gives them in English,
# in Spanish and in the language itself; three-letter codes from ISO 639-2 (from memory).
LANGUAGES = {
    "es": "Spanish|español|ESPAÑOL|spa|es|es-MX|es_US|Spanish (Mexico)|Castellano|01 - Spanish",
    "en": "English|inglés|eng|EN|en-US",
    "vi": "Vietnamese|vietnamita|Tiếng Việt|vie",
    "zh": "Chinese|chino|中文|zho|chi|Mandarin|zh-Hans-CN",
    "ar": "Arabic|árabe|العربية|ara",
    "ru": "Russian|ruso|русский",
    "uk": "Ukrainian|ucraniano|українська",
    "tr": "Turkish|turco|Türkçe",
    "so": "Somali|somalí|Soomaali",
    "ht": "Haitian Creole|criollo haitiano|hat",
    "pa": "Punjabi|punyabí|ਪੰਜਾਬੀ|Panjabi",
    "ko": "Korean|coreano|한국어",
    "te": "Telugu|తెలుగు",
}


@pytest.mark.parametrize(("tag", "text"), [(g, t) for g, ts in LANGUAGES.items() for t in ts.split("|")])
def test_languages_are_read(tag: str, text: str) -> None:
    assert read_language(text) == tag


@pytest.mark.parametrize("spoken", ["en", "es"])
def test_every_language_is_named_and_read_again_by_its_name(spoken: str) -> None:
    names = language_names(spoken)
    assert names.keys() == _NAMES.keys()
    assert {tag: read_language(name) for tag, name in names.items()} == {tag: tag for tag in names}


@pytest.mark.parametrize("text", ["", "Klingon", "3B", "yes", "xx-YY"])
def test_what_is_no_language(text: str) -> None:
    assert read_language(text) is None


@pytest.mark.parametrize(
    ("text", "given_name", "family"),
    [
        ("Brook, Ann", "Ann", "Brook"),
        ("García Núñez, María José", "María José", "García Núñez"),
        ("O'Hara-Lund,Bo", "Bo", "O'Hara-Lund"),
        ("Brook, Jr., Cal", "Cal", "Brook Jr."),
        ("Brook, Cal, III", "Cal", "Brook III"),
        ("Ann Brook Hill", "Ann", "Brook Hill"),
        ("Brook,", "", "Brook"),
        ("Brook", "Brook", ""),
        ("", "", ""),
    ],
)
def test_one_name_column(text: str, given_name: str, family: str) -> None:
    assert split_name(text) == (given_name, family)


@pytest.mark.parametrize(
    ("fields", "lines"),
    [
        ({"address": "12 Mill Road, Oldton, XX 01234"}, ("12 Mill Road", "Oldton, XX 01234")),
        ({"address": "12 Mill Road, Apt 3, Oldton, XX 01234"}, ("12 Mill Road", "Apt 3", "Oldton, XX 01234")),
        ({"address": "12 Mill Road, Oldton 01234"}, ("12 Mill Road", "Oldton 01234")),
        ({"address": "12 Mill Road\r\nOldton, XX 01234"}, ("12 Mill Road", "Oldton, XX 01234")),
        (
            {
                "address": "12 Mill Road",
                "address_2": "Apt 3",
                "city": "Oldton",
                "state": "XX",
                "post_code": "01234",
            },
            ("12 Mill Road", "Apt 3", "Oldton, XX 01234"),
        ),
        ({"address": "12 Mill Road", "town": "Oldton, XX 01234"}, ("12 Mill Road", "Oldton, XX 01234")),
        ({"address": "N/A"}, ()),
        ({}, ()),
    ],
)
def test_addresses_as_lines(fields: dict[str, str], lines: tuple[str, ...]) -> None:
    assert address_of(fields) == lines


def test_guardian_in_one_column_or_two() -> None:
    assert guardian_of({"guardian": " Bea  Brook "}) == "Bea Brook"
    assert guardian_of({"guardian_given": "Bea", "guardian_family": "Brook"}) == "Bea Brook"
    assert guardian_of({"guardian": "n/a"}) == ""


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("00712", "00712"),
        ("712.0", "712"),
        ('="00712"', "00712"),
        (" S-1 ", "S-1"),
        ("-", ""),
        ("1.5", "1.5"),
    ],
)
def test_student_numbers_keep_their_zeros(text: str, number: str) -> None:
    assert number_of(text) == number
