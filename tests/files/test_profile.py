"""Battery profiles: all load, all say where from, and wrong ones say what is wrong."""

from pathlib import Path

import pytest

from drainsim.errors import ProfileError
from drainsim.files.presets import preset, presets
from drainsim.files.profile import (
    FOLDER_VARIABLE,
    GRADES,
    list_profiles,
    load_profile,
    own_folder,
    read_profile,
)

SHIPPED = list_profiles()
TEXT = SHIPPED["agm"].read_text("utf-8")
KNEE = "[cranking_knee_v]\nvalue = 0.8"


def test_the_six_battery_types_are_there() -> None:
    """Five lead-acid types and the lithium drop-in ship with drainsim."""
    assert set(SHIPPED) >= {
        "flooded_antimony",
        "flooded_calcium",
        "enhanced_flooded",
        "agm",
        "gel",
        "lithium_iron_phosphate_12v",
    }


@pytest.mark.parametrize("key", sorted(SHIPPED))
def test_every_figure_says_where_it_comes_from(key: str) -> None:
    """Each shipped figure has a source and a known grade, and no source hides a brand sign."""
    profile = read_profile(SHIPPED[key])
    assert profile.key == key
    assert profile.figures
    for name, figure in profile.figures.items():
        assert figure.source.strip(), name
        assert figure.grade in GRADES, name
        assert not set("®™©") & set(figure.source), name


@pytest.mark.parametrize("kind", ["climates", "units", "vehicles"])
def test_every_preset_says_where_it_comes_from(kind: str) -> None:
    """Presets carry a source, a grade and values."""
    for key, entry in presets(kind).items():
        assert entry.name, key
        assert entry.source.strip(), key
        assert entry.grade in GRADES, key
        assert entry.values, key


def test_unknown_presets_name_the_key_that_asked() -> None:
    """A misspelt preset is answered with the nearest one."""
    with pytest.raises(ProfileError, match=r"site\.climate = 'temperat': .*did you mean temperate"):
        preset("climates", "temperat", where="site.climate")


def own(tmp_path: Path, text: str = TEXT, name: str = "mine.toml") -> Path:
    """Write a user's profile."""
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_users_folder_is_searched_first(tmp_path: Path) -> None:
    """A profile in a named folder is found, and wins over a shipped one of the same name."""
    own(tmp_path)
    own(tmp_path, TEXT.replace('name = "', 'name = "My ', 1), "agm.toml")
    assert load_profile("mine", [tmp_path]).key == "mine"
    assert load_profile("agm", [tmp_path]).name.startswith("My ")
    assert load_profile("gel", [tmp_path]).key == "gel"


def test_the_environment_names_folders_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """DRAINSIM_PROFILES is searched after the caller's folders, before the shipped ones."""
    own(tmp_path)
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path))
    assert "mine" in list_profiles()
    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "gone"))
    with pytest.raises(ProfileError, match="gone: no such folder"):
        list_profiles()


def test_shipped_profiles_are_found_from_any_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The current folder does not matter."""
    monkeypatch.chdir(tmp_path)
    assert load_profile("agm").key == "agm"
    assert own_folder().is_absolute()


def test_an_unknown_name_is_answered_with_the_nearest() -> None:
    """A misspelt profile names what there is."""
    with pytest.raises(ProfileError, match=r"battery\.profile = 'agn'.*did you mean agm"):
        load_profile("agn")
    with pytest.raises(ProfileError, match=r"available: agm, .*gel"):
        load_profile("zzz")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("format = 1", "format = 2", "newer drainsim"),
        ("format = 1\n", "", "format is missing"),
        ('name = "', 'nam = "', "name is missing"),
        ("[low_rate_gain]", "[low_rate_gains]", r"unknown key low_rate_gains; .* low_rate_gain\?"),
        (KNEE, KNEE.replace("0.8", "12.0"), r"knee_v\.value = 12\.0 is outside 0 to 3"),
        (KNEE, KNEE.replace("0.8", "nan"), r"knee_v\.value = nan"),
        (KNEE, KNEE.replace("0.8", '"0.8"'), r"knee_v\.value must be a number"),
        (KNEE, KNEE.replace("value", "valu"), "must be a table with value, source and grade"),
        ('grade = "secondary"', 'grade = "hearsay"', r"grade must be one of standard"),
        ("value = [[0.0, 11.67]", "value = [[0.0, 12.1]", "open_circuit_v"),
        ("value = [[0.0, 11.67]", "value = [[0.1, 11.8]", "open_circuit_v.value must run from"),
        ("value = [[0.0, 11.67]", "value = [[0.5, 11.8]", "open_circuit_v.value needs finite"),
        ("value = [[0.0, 11.67]", "value = [[0.0]", "must be a list of"),
        ("format = 1", "format = 1\n[", "not valid TOML"),
    ],
)
def test_wrong_profiles_name_file_and_key(tmp_path: Path, old: str, new: str, says: str) -> None:
    """What is wrong with a profile is said in one sentence with file and key."""
    assert old in TEXT
    path = own(tmp_path, TEXT.replace(old, new, 1))
    with pytest.raises(ProfileError, match=says) as caught:
        read_profile(path)
    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)


def test_a_missing_figure_is_named(tmp_path: Path) -> None:
    """Every profile needs every figure that is not optional."""
    start = TEXT.index("[self_discharge_sigma]")
    path = own(tmp_path, TEXT[:start] + TEXT[TEXT.index("[", start + 1) :])
    with pytest.raises(ProfileError, match="self_discharge_sigma is missing"):
        read_profile(path)


def test_an_empty_source_is_refused(tmp_path: Path) -> None:
    """A figure without provenance is an error that says what would do."""
    start = TEXT.index("source = ")
    path = own(tmp_path, TEXT[:start] + 'source = " "' + TEXT[TEXT.index("\n", start) :])
    with pytest.raises(ProfileError, match=r"source is empty.*common practice, no source"):
        read_profile(path)
