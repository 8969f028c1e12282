"""OneRoster sets built by hand from the published column tables.

Columns: OneRoster CSV Tables 1.1 and CSV Binding 1.2, read second-hand (public column lists of users, demographics,
enrollments, classes and roles); orgs, academicSessions and the values of role, status, classType from memory.
"""

from __future__ import annotations

import zipfile
from datetime import date
from pathlib import Path

import pytest

from fieldapp.roster import NotARoster, read_roster
from shared.records.standing import Person

TODAY = date(2026, 10, 12)

USERS_11 = (
    "sourcedId,status,dateLastModified,enabledUser,orgSourcedIds,role,username,userIds,givenName,familyName,middleName,"
    "identifier,email,sms,phone,agentSourcedIds,grades,password"
)
USERS_12 = (
    "sourcedId,status,dateLastModified,enabledUser,username,userIds,givenName,familyName,middleName,identifier,email,sms,"
    "phone,agentSourcedIds,grades,password,userMasterIdentifier,preferredGivenName,preferredMiddleName,"
    "preferredFamilyName,primaryOrgSourcedId,pronouns"
)
ROLES_12 = (
    "sourcedId,status,dateLastModified,"
    "userSourcedId,roleType,role,beginDate,endDate,orgSourcedId,userProfileSourcedId"
)
DEMOGRAPHICS = (
    "sourcedId,status,dateLastModified,birthDate,sex,americanIndianOrAlaskaNative,asian,blackOrAfricanAmerican,"
    "nativeHawaiianOrOtherPacificIslander,white,demographicRaceTwoOrMoreRaces,hispanicOrLatinoEthnicity,"
    "countryOfBirthCode,stateOfBirthAbbreviation,cityOfBirth,publicSchoolResidenceStatus"
)
CLASSES = (
    "sourcedId,status,dateLastModified,title,grades,courseSourcedId,classCode,classType,location,schoolSourcedId,"
    "termSourcedIds,subjects,subjectCodes,periods"
)
ENROLLMENTS = (
    "sourcedId,status,dateLastModified,"
    "classSourcedId,schoolSourcedId,userSourcedId,role,primary,beginDate,endDate"
)
ORGS = "sourcedId,status,dateLastModified,name,type,identifier,parentSourcedId"
SESSIONS = "sourcedId,status,dateLastModified,title,type,startDate,endDate,parentSourcedId,schoolYear"

SET_11 = {
    "users.csv": [
        USERS_11,
        "u1,,,true,o1,student,ann,,Ann,Brook,,00712,,,,g1,01,",
        'u2,,,true,"o1,o2",student,bob,,Bob,Hill,,,,,,"x,g2",KG,',
        "u3,tobedeleted,2026-09-01T00:00:00Z,true,o1,student,cy,,Cy,Field,,00714,,,,,02,",
        "t1,,,true,o1,teacher,tee,,Tia,Moor,,,,,,,,",
        "g1,,,true,o1,guardian,gee,,Bea,Brook,,,,,,u1,,",
        "g2,,,true,o1,parent,hee,,Hal,Hill,,,,,,u2,,",
        "",
        "u5,,,true,o2,student,eve,,Eve,Reed,,00715,,,,,PK,",
        "u6,,,true,o1,student,flo,,,Ford,,00716,,,,,03,",
    ],
    "demographics.csv": [
        DEMOGRAPHICS,
        "u1,,,2019-05-23,female" + "," * 11,
        "u5,,,2022-03-04,male" + "," * 11,
    ],
    "classes.csv": [
        CLASSES,
        "c1,,,Algebra,01,k1,A1,scheduled,12,o1,s1,,,",
        "c2,,,Room 12,01,k1,R12,homeroom,12,o1,s1,,,",
        "c3,,,Room 9,01,k1,R9,homeroom,9,o1,s0,,,",
        "c4,tobedeleted,,Room 1,01,k1,R1,homeroom,1,o1,s1,,,",
        "c5,,,Bluebirds,PK,k1,B,scheduled,1,o2,s1,,,",
    ],
    "enrollments.csv": [
        ENROLLMENTS,
        "e1,,,c1,o1,u1,student,,,",
        "e2,,,c3,o1,u1,student,,2025-08-15,2026-06-05",
        "e3,,,c2,o1,u1,student,,2026-08-15,",
        "e4,,,c4,o1,u1,student,,,",
        "e5,,,c2,o1,t1,teacher,true,,",
        "e6,,,c5,o2,u5,student,,,",
    ],
    "academicSessions.csv": [
        SESSIONS,
        "s1,,,2026-2027,schoolYear,2026-08-15,2027-06-05,,2027",
        "s0,,,2025-2026,schoolYear,2025-08-15,2026-06-05,,2026",
    ],
    "orgs.csv": [ORGS, "o1,,,Oldton School,school,001,", "o2,,,Newton School,school,002,"],
    "manifest.csv": ["propertyName,value", "manifest.version,1.0", "oneroster.version,1.1"],
}
SET_12 = SET_11 | {
    "users.csv": [
        USERS_12,
        "u1,,,true,ann,,Ann,Brook,,00712,,,,g1,01,,,,,,o1,",
        "u2,,,true,bob,,Bob,Hill,,,,,,,KG,,,,,,,",
        "t1,,,true,tee,,Tia,Moor,,,,,,,,,,,,,o1,",
        "g1,,,true,gee,,Bea,Brook,,,,,,u1,,,,,,,,",
    ],
    "roles.csv": [
        ROLES_12,
        "r1,,,u1,primary,student,,,o1,",
        "r2,,,u2,primary,student,,,o1,",
        "r3,,,t1,primary,teacher,,,o1,",
        "r4,,,g1,primary,guardian,,,o1,",
    ],
}


def in_folder(folder: Path, files: dict[str, list[str]]) -> Path:
    folder.mkdir()
    for name, rows in files.items():
        (folder / name).write_text("\ufeff" + "\r\n".join(rows) + "\r\n", encoding="utf-8")
    return folder


def in_zip(file: Path, files: dict[str, list[str]], under: str = "") -> Path:
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, rows in files.items():
            archive.writestr(under + name, "\r\n".join(rows) + "\r\n")
    return file


ANN = Person("Ann", "Brook", "2019-05-23", "00712", "1", "Room 12", guardian="Bea Brook")
BOB = Person("Bob", "Hill", "", "u2", "K", "", guardian="Hal Hill")
EVE = Person("Eve", "Reed", "2022-03-04", "00715", "PK", "Bluebirds")


@pytest.mark.parametrize("form", ["folder", "zip", "zip with a folder", "users.csv"])
def test_a_version_1_1_set(tmp_path: Path, form: str) -> None:
    if form in ("folder", "users.csv"):
        path = in_folder(tmp_path / "set", SET_11)
        path = path / "users.csv" if form == "users.csv" else path
    else:
        path = in_zip(tmp_path / "set.zip", SET_11, "export/" if form == "zip with a folder" else "")
    reading = read_roster(path, today=TODAY)
    assert [(row.line, row.person) for row in reading.rows] == [(2, ANN), (3, BOB), (9, EVE)]
    assert [(problem.line, problem.reason) for problem in reading.problems] == [
        (4, "The set marks this student as deleted."),
        (10, "The given name is missing (column 'givenName')."),
    ]
    assert (reading.other_people, reading.blank_lines, reading.data_lines) == (3, 1, 9)
    assert "People who are no students of this roster, left out: 3." in reading.notes
    assert "Students of 2 schools are in this set; all were read." in reading.notes


def test_a_version_1_2_set_knows_its_students_by_their_roles(tmp_path: Path) -> None:
    reading = read_roster(in_folder(tmp_path / "set", SET_12), today=TODAY)
    assert [row.person for row in reading.rows] == [
        ANN,
        Person("Bob", "Hill", "", "u2", "K", ""),
    ]
    assert reading.other_people == 2


@pytest.mark.parametrize("school", ["Newton School", "newton school", "002", "o2"])
def test_one_school_of_a_district(tmp_path: Path, school: str) -> None:
    reading = read_roster(in_folder(tmp_path / "set", SET_11), today=TODAY, school=school)
    assert [row.person.student_number for row in reading.rows] == ["u2", "00715"]
    counted = len(reading.rows) + len(reading.problems) + reading.blank_lines + reading.other_people
    assert counted == reading.data_lines == 9


def test_a_school_that_is_not_in_the_set(tmp_path: Path) -> None:
    with pytest.raises(NotARoster, match="no child of the school"):
        read_roster(in_folder(tmp_path / "set", SET_11), today=TODAY, school="Elsewhere")


def test_users_alone_are_enough(tmp_path: Path) -> None:
    reading = read_roster(in_folder(tmp_path / "set", {"users.csv": SET_11["users.csv"]}), today=TODAY)
    assert [row.person.born for row in reading.rows] == ["", "", ""]


@pytest.mark.parametrize(
    ("files", "words"),
    [
        ({"users.csv": [USERS_12, SET_12["users.csv"][1]]}, "does not say who is a student"),
        ({"users.csv": ["sourcedId,role,familyName", "1,student,Brook"]}, "no column givenName"),
        ({"users.csv": ["id,role,givenName,familyName", "1,student,Ann,Brook"]}, "no column sourcedId"),
        ({"users.csv": [USERS_11]}, "no child below it"),
        ({"users.csv": [""]}, "no child below it|empty"),
    ],
)
def test_sets_that_lack_something(tmp_path: Path, files: dict[str, list[str]], words: str) -> None:
    for path in (in_folder(tmp_path / "set", files), in_zip(tmp_path / "set.zip", files)):
        with pytest.raises(NotARoster, match=words):
            read_roster(path, today=TODAY)
