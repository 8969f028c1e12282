"""Which column holds what: header synonyms in English and Spanish, and finding the header row among preamble lines."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

# Titles are compared as letters and digits only, accents and case removed ("First Name" = "firstname").
# Earlier titles win where a file has several ("Student ID" before "State ID").
_TITLES: Mapping[str, str] = {
    "student_number": "studentnumber studentid studentno id number no permnumber permid localid localstudentid sisid "
    "idnumber schoolid districtid pupilnumber pupilid identifier admissionnumber numerodealumno numerodeestudiante "
    "matricula numero numeroid idalumno idestudiante alumnoid codigo expediente studentcode code otherid stateid "
    "statestudentid ssid sasid uniqueid studentuniqueid lasid sourcedid",
    "given": "firstname given givenname first forename fname legalfirstname namefirst nombres nombredepila "
    "primernombre firstgivenname givennames nombre1",
    "family": "lastname family familyname last surname lname legallastname namelast apellidos apellido "
    "primerapellido apellidopaterno apellido1",
    "second_family": "segundoapellido apellidomaterno apellido2",
    "name": "name fullname nombre nombrecompleto lastfirst lastnamefirstname lastcommafirst lastfirstmiddle "
    "apellidosynombres apellidosynombre apellidosnombres apellidosnombre apellidoynombre apellidonombre "
    "nombreyapellidos nombreyapellido student pupil child alumno alumna alumnos estudiante namelastfirst "
    "lastnamefirst familygiven familynamegivenname surnamefirstname surnameforename legalname",
    "born": "birthdate dateofbirth dob born birthday bdate bday birth birthdt dobirth fechadenacimiento fechanacimiento "
    "nacimiento fnacimiento fechanac fnac fechadenac nacido",
    "grade": "grade gradelevel gr grd grlevel gradelvl currentgrade yeargroup grado gradoescolar nivel graden gradecode "
    "grades enrollmentgrade gradeenrolled gradenumber",
    "class_name": "class classname homeroom hr hrm homeroomname homeroomnumber classroom room roomnumber rm section "
    "homeroomteacher teacher teachername advisory clase salon aula grupo seccion maestro maestra profesor group "
    "roomno hmrm homeroomcode classcode docente",
    "language": "homelanguage languageathome primarylanguage language homelang lang nativelanguage correspondencelanguage "
    "languagespokenathome preferredlanguage parentlanguage languageofcorrespondence primaryhomelanguage langhome "
    "firstlanguage idioma lengua idiomadelhogar lenguadelhogar idiomamaterno lenguamaterna idiomaencasa idiomahogar "
    "contactlanguage homelanguagecode languagecode hl",
    "guardian": "guardian guardianname parentguardian parent parentname parentguardianname parentsguardians parents "
    "guardians contact contactname primarycontact primarycontactname guardian1 guardian1name parent1 parent1name "
    "parentguardian1 contact1 contact1name primaryguardian primaryguardianname padreotutor tutor padremadreotutor "
    "madrepadreotutor nombredelpadre nombredeltutor padre madre acudiente representante encargado mother mothername "
    "father fathername padresotutores padrestutores apoderado contacto padremadre nombredelpadreotutor",
    "guardian_given": "guardianfirstname parentfirstname contactfirstname guardian1firstname parent1firstname "
    "parentguardianfirstname contact1firstname",
    "guardian_family": "guardianlastname parentlastname contactlastname guardian1lastname parent1lastname "
    "parentguardianlastname contact1lastname",
    "address": "address mailingaddress homeaddress residenceaddress address1 addressline1 street streetaddress "
    "mailingstreet homestreet mailaddress mailingaddress1 homeaddress1 direccion domicilio calle direccionpostal "
    "direcciondecasa residentialaddress addr addr1 fulladdress",
    "address_2": "address2 addressline2 apt apartment unit aptnumber mailingaddress2 homeaddress2 apartamento addr2 "
    "aptno street2 colonia",
    "town": "citystatezip cityandstate townline addressline3 citystate csz",
    "city": "city town mailingcity homecity ciudad municipio localidad poblacion",
    "state": "state mailingstate homestate estado province provincia",
    "post_code": "zip zipcode postalcode postcode mailingzip homezip codigopostal cp mailingzipcode homezipcode zip5",
}
_FIELD_AND_RANK = {
    title: (field, rank) for field, titles in _TITLES.items() for rank, title in enumerate(titles.split())
}
_OF_THE_CHILD = re.compile(
    r"^(students?|stu|std|pupils?|childs?|childrens|learners?|scholars?|kids?|alumn[oa]s?|estudiante)(?=.)"
    r"|(dell?a?|of)?(the)?(alumn[oa]s?|estudiantes?|nin[oa]s?|menor|student|child|pupil)$"
)
HEADER_SEARCHED = 60  # lines that are looked through for a header

# How a field is called when a message speaks of it without the file's own title.
FIELD_WORDS: Mapping[str, str] = {
    "student_number": "student number",
    "given": "given name",
    "family": "family name",
    "name": "name",
    "born": "birth date",
    "grade": "grade",
    "class_name": "class",
    "language": "home language",
}


def plain_title(text: str) -> str:
    """A column title as letters and digits only: accents, case, spaces and signs removed; # reads as number."""
    text = text.replace("#", " number ").replace("№", " number ").replace("&", " ")
    text = re.sub(r"\b[Nn][º°]\.?|\bN\.º", " numero ", text)
    text = unicodedata.normalize("NFKD", text).casefold()
    return "".join(character for character in text if character.isalnum())


def field_of(title: str) -> tuple[str, int] | None:
    """The field that a title stands for, and its rank among that field's titles (0 first); None if unknown."""
    plain = plain_title(title)
    if plain in _FIELD_AND_RANK:
        return _FIELD_AND_RANK[plain]
    return _FIELD_AND_RANK.get(_OF_THE_CHILD.sub("", plain))


@dataclass(frozen=True, slots=True)
class Columns:
    """A header understood. ``places``: field -> cell index; ``titles``: field -> title as written."""

    places: Mapping[str, int]
    titles: Mapping[str, str]
    unused: tuple[str, ...]  # titles of columns that are not imported
    width: int

    @property
    def complete(self) -> bool:
        """Whether children can be named from it."""
        return "name" in self.places or {"given", "family"} <= self.places.keys()

    def title(self, field: str) -> str:
        """The column's own title, or the field's common name."""
        return self.titles.get(field) or FIELD_WORDS.get(field, field)

    def pick(self, cells: Sequence[str]) -> dict[str, str]:
        """The fields of a row; cells that are missing are empty."""
        return {field: cells[place] if place < len(cells) else "" for field, place in self.places.items()}


def columns_of(cells: Sequence[str]) -> Columns:
    """Understand a row as a header, as far as it is one."""
    best: dict[str, tuple[int, int]] = {}
    for place, cell in enumerate(cells):
        found = field_of(cell)
        if found and (found[0] not in best or found[1] < best[found[0]][0]):
            best[found[0]] = (found[1], place)
    places = {field: place for field, (_, place) in best.items()}
    if "name" in places and "family" in places and "given" not in places:
        places["given"] = places.pop(
            "name"
        )  # "Nombre, Apellido": the name beside a family name is the given one
    if {"given", "family"} <= places.keys():
        places.pop("name", None)
    used = set(places.values())
    unused = tuple(_one_line(cell) for place, cell in enumerate(cells) if place not in used and cell.strip())
    titles = {field: _one_line(cells[place]) for field, place in places.items()}
    width = max((place for place, cell in enumerate(cells, start=1) if cell.strip()), default=0)
    return Columns(places, titles, unused, width)


def find_header(lines: Iterable[Sequence[str]]) -> tuple[int, Columns] | None:
    """The first row that names children's columns: its index and its columns. None where there is none.

    A title line such as "Name of school" has one known word at most; a header has two columns or more, unless
    the whole table has one.
    """
    rows = list(lines)
    widest = max((len(row) for row in rows), default=0)
    for index, row in enumerate(rows):
        columns = columns_of(row)
        if columns.complete and (len(columns.places) > 1 or widest == 1):
            return index, columns
    return None


def _one_line(title: str) -> str:
    return " ".join(title.split())[:60]
