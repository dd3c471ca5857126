"""Writing a file: whole or not at all, with the mode and the link that were there."""

import os
import stat

import pytest

from brewsim.errors import InputError
from brewsim.files.text_files import read_text, refuse_to_replace, replacing, write_whole


def test_a_file_keeps_its_mode(tmp_path):
    file = tmp_path / "HOUSE.toml"
    file.write_text("old")
    file.chmod(0o640)

    write_whole(file, b"new")

    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert file.read_bytes() == b"new"


def test_a_new_file_is_as_readable_as_any_other(tmp_path):
    (tmp_path / "other").touch()

    write_whole(tmp_path / "HOUSE.toml", b"new")

    modes = {stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()}
    assert len(modes) == 1


def test_a_link_still_points_to_the_file_that_is_written(tmp_path):
    file, link = tmp_path / "real.toml", tmp_path / "HOUSE.toml"
    file.write_text("old")
    link.symlink_to(file)

    write_whole(link, b"new")

    assert link.is_symlink()
    assert file.read_bytes() == b"new"


def test_a_read_only_file_is_not_replaced(tmp_path):
    file = tmp_path / "HOUSE.toml"
    file.write_text("old")
    file.chmod(0o444)

    with pytest.raises(PermissionError, match="read-only"):
        write_whole(file, b"new")

    assert file.read_text() == "old"


def test_what_is_no_file_is_not_replaced():
    with pytest.raises(OSError, match="no file that can be replaced"):
        write_whole(os.devnull, b"new")


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path):
    file = tmp_path / "HOUSE.toml"
    file.write_text("old")

    with pytest.raises(TypeError), replacing(file) as temporary:
        temporary.write_text(None)

    assert [path.name for path in tmp_path.iterdir()] == ["HOUSE.toml"]
    assert file.read_text() == "old"


@pytest.mark.parametrize("way", ["same", "./same", "link"])
def test_a_file_that_is_read_is_not_written_over(tmp_path, way):
    recipe = tmp_path / "same"
    recipe.write_text("recipe")
    (tmp_path / "link").symlink_to(recipe)

    with pytest.raises(InputError, match="would be replaced"):
        refuse_to_replace(tmp_path / way, "--out", [None, recipe])


def test_another_text_that_is_there_is_not_written_over(tmp_path):
    (tmp_path / "other.toml").touch()

    with pytest.raises(InputError, match="there already"):
        refuse_to_replace(tmp_path / "other.toml", "--out", [])
    refuse_to_replace(tmp_path / "new.toml", "--out", [])
    refuse_to_replace(tmp_path / "other.toml", "--house", [], texts=True)


def test_the_most_that_is_read_is_told(tmp_path):
    file = tmp_path / "log.toml"
    file.write_text("x" * 2_000_001)

    with pytest.raises(InputError, match="larger than 2 MB"):
        read_text(file, 2_000_000)
