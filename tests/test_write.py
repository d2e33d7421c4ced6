from __future__ import annotations

import errno
import gc
import os
import re
import stat
import subprocess
import sys
import time
import zipfile
from pathlib import Path
from types import SimpleNamespace

import pytest
from faults import contents, fail_every_step, failing_calls
from kills import kill_writers

from baybook.files import write
from baybook.files.write import backup, sweep, whole_file, write_bytes
from baybook.problems import WriteFailed

ROOT = os.geteuid() == 0


def save_in_pieces(path):
    with whole_file(path) as stream:
        for _ in range(20):
            stream.write(b"new " * 4096)


def save_zip(path):
    with whole_file(path) as stream, zipfile.ZipFile(stream, "w") as package:
        for name in ("a.xml", "b.xml"):
            package.writestr(name, os.urandom(100_000))


def open_files():
    return len(list(Path("/proc/self/fd").iterdir()))


def write_and_raise(path, error):
    with whole_file(path) as stream:
        stream.write(b"x" * 200_000)
        raise error


# ---- whole


def test_a_new_file_and_one_written_over(tmp_path):
    path = tmp_path / "deck.xlsx"
    write_bytes(path, b"one")
    assert path.read_bytes() == b"one"
    write_bytes(path, b"two")
    assert contents(tmp_path) == {"deck.xlsx": b"two"}


def test_the_stream_can_seek_so_a_zip_can_be_written(tmp_path):
    save_zip(tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as package:
        assert package.testzip() is None
        assert not package.infolist()[0].flag_bits & 0x8, "no data descriptor: the writer went back to the header"


def test_what_is_read_meanwhile_is_the_old_file(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    with whole_file(path) as stream:
        stream.write(b"new")
        stream.flush()
        assert path.read_bytes() == b"old"
    assert path.read_bytes() == b"new"


def test_an_error_of_the_block_passes_unchanged_and_the_old_file_stands(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    open_before = open_files()
    for error in (KeyError("x"), KeyboardInterrupt(), OSError(errno.EIO, "of another file"), MemoryError()):
        with pytest.raises(type(error)) as caught:
            write_and_raise(path, error)
        assert caught.value is error
        assert open_files() == open_before, "closed, although the error still holds the stream"
        gc.collect()  # a stream let go must not write again
        assert contents(tmp_path) == {"a": b"old"}


def test_truncate_counts(tmp_path):
    with whole_file(tmp_path / "a") as stream:
        stream.write(b"abcdef")
        stream.seek(2)
        stream.truncate()
    assert (tmp_path / "a").read_bytes() == b"ab"


# ---- every step failing


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EACCES, errno.EROFS, errno.EDQUOT, 9999])
@pytest.mark.parametrize("old", [{}, {"deck.xlsx": b"old" * 1000}], ids=["new", "over"])
def test_every_step_failing_leaves_the_old_file(tmp_path, code, old):
    for name, data in old.items():
        (tmp_path / name).write_bytes(data)
    failed, saved = fail_every_step(lambda: save_in_pieces(tmp_path / "deck.xlsx"), tmp_path, code)
    # open, the writes (64 KiB a time), fsync, close, replace; saved all the same: the folder's open, fsync, close
    assert failed == 1 + 5 + 1 + 1 + 1
    assert saved == 3
    assert contents(tmp_path) == old


def test_every_step_of_a_zip_failing(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "urandom", lambda size: bytes(range(250)) * (size // 250))
    (tmp_path / "a.zip").write_bytes(b"old")
    clock = time.struct_time((2025, 1, 1, 0, 0, 0, 0, 1, 0))
    monkeypatch.setattr(time, "localtime", lambda *_: clock)
    failed, _ = fail_every_step(lambda: save_zip(tmp_path / "a.zip"), tmp_path, errno.ENOSPC)
    assert failed > 6


def test_every_step_of_a_copy_failing(tmp_path, monkeypatch):
    (tmp_path / "deck.xlsx").write_bytes(b"old" * 1000)
    monkeypatch.setattr(write, "_now", lambda: "2025-11-25 090612")
    failed, saved = fail_every_step(lambda: backup(tmp_path / "deck.xlsx"), tmp_path)
    assert failed == 4  # open, write, fsync, close; a link that fails falls back, the rest is tidying
    assert saved >= 3


def test_a_clean_up_that_fails_too_leaves_a_temporary_for_the_next_sweep(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    with failing_calls() as made:
        write_bytes(path, b"new")
    replace = made.index("replace") + 1
    with pytest.raises(WriteFailed), failing_calls(replace, replace + 1) as made:
        write_bytes(path, b"newer")
    assert made[-1] == "unlink"
    assert path.read_bytes() == b"new"
    left = [found for found in tmp_path.iterdir() if found != path]
    assert len(left) == 1
    assert re.fullmatch(r"\.baybook-[0-9a-f]{16}\.tmp", left[0].name)
    assert sweep(tmp_path) == ()
    assert sweep(tmp_path, older_than_s=-1) == tuple(left)


def test_short_writes_are_continued(tmp_path, monkeypatch):
    real = write._os
    short = SimpleNamespace(
        **{**vars(real), "write": lambda number, data: real.write(number, data[: 1 + len(data) // 3])}
    )
    monkeypatch.setattr(write, "_os", short)
    write_bytes(tmp_path / "a", bytes(range(256)) * 1000)
    assert (tmp_path / "a").read_bytes() == bytes(range(256)) * 1000


@pytest.mark.parametrize(
    ("code", "words"),
    [(errno.ENOSPC, "the disk is full; free some space"), (errno.EACCES, "you may not write there; close it")],
)
def test_the_sentence_names_file_folder_cause_and_cure(tmp_path, code, words):
    with pytest.raises(WriteFailed) as caught, failing_calls(1, code=code):
        write_bytes(tmp_path / "deck.xlsx", b"")
    (problem,) = caught.value.problems
    assert problem.source == "deck.xlsx"
    assert str(tmp_path) in problem.message
    assert words in problem.message


def test_no_space_for_real(tmp_path):
    # A limit on the size of files makes the kernel itself refuse the write.
    path = tmp_path / "deck.xlsx"
    path.write_bytes(b"old")
    program = (
        "import resource, sys\n"
        "from baybook.files.write import write_bytes, WriteFailed\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000))\n"
        "try:\n    write_bytes(sys.argv[1], b'x' * 1_000_000)\n"
        "except WriteFailed as error:\n    print(error); sys.exit(1)\n"
    )
    run = subprocess.run([sys.executable, "-c", program, str(path)], capture_output=True, text=True, check=False)
    assert run.returncode == 1
    assert "larger than this disk or account allows" in run.stdout
    assert run.stdout.count("\n") == 1
    assert not run.stderr
    assert contents(tmp_path) == {"deck.xlsx": b"old"}


def test_ten_real_kills(tmp_path):
    found = kill_writers(tmp_path, 10, seed=6)
    assert found["old"] + found["new"] == 10


# ---- what must not be touched


def test_a_symbolic_link_is_refused_and_what_it_points_to_stands(tmp_path):
    outside = tmp_path / "outside.csv"
    outside.write_bytes(b"mine")
    (tmp_path / "link.csv").symlink_to(outside)
    (tmp_path / "dangling.csv").symlink_to(tmp_path / "nothing")
    for name in ("link.csv", "dangling.csv"):
        with pytest.raises(WriteFailed, match="symbolic link"):
            write_bytes(tmp_path / name, b"x")
    assert outside.read_bytes() == b"mine"
    assert not (tmp_path / "nothing").exists()


@pytest.mark.parametrize("way", ["../escaped.csv", "linked/escaped.csv", "inner/../../escaped.csv"])
def test_a_path_that_leaves_the_folder_is_refused(tmp_path, way):
    inside = tmp_path / "out"
    (inside / "inner").mkdir(parents=True)
    (inside / "linked").symlink_to(tmp_path, target_is_directory=True)
    with pytest.raises(WriteFailed, match="leads out of the folder"):
        write_bytes(inside / way, b"x", inside=inside)
    assert not list(tmp_path.rglob("escaped.csv"))


def test_a_path_that_stays_inside_is_fine(tmp_path):
    (tmp_path / "inner").mkdir()
    write_bytes(tmp_path / "inner" / ".." / "a.csv", b"x", inside=tmp_path)
    write_bytes(tmp_path / "inner" / "b.csv", b"x", inside=str(tmp_path))
    assert (tmp_path / "a.csv").exists()


@pytest.mark.parametrize("name", ["", ".", ".."])
def test_no_name(tmp_path, name):
    with pytest.raises(WriteFailed):
        write_bytes(os.path.join(tmp_path, name), b"x")  # noqa: PTH118 - Path would tidy the name


def test_a_folder_a_pipe_and_a_missing_folder_are_refused(tmp_path):
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    for name, words in (("folder", "no ordinary file"), ("pipe", "no ordinary file"), ("no/a", "does not exist")):
        with pytest.raises(WriteFailed, match=words):
            write_bytes(tmp_path / name, b"x")
    with pytest.raises(WriteFailed, match="the name is too long"):
        write_bytes(tmp_path / ("x" * 300), b"x")
    with pytest.raises(WriteFailed, match="cannot be a file name"):
        write_bytes(tmp_path / "a\0b", b"x")


@pytest.mark.skipif(ROOT, reason="the superuser may write everywhere")
def test_a_read_only_file_and_folder_are_refused(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    path.chmod(0o444)
    with pytest.raises(WriteFailed, match="read-only"):
        write_bytes(path, b"new")
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(WriteFailed, match="you may not write there"):
            write_bytes(tmp_path / "b", b"new")
    finally:
        tmp_path.chmod(0o755)


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664])
def test_the_permissions_of_an_existing_file_are_kept(tmp_path, mode):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    path.chmod(mode)
    write_bytes(path, b"new")
    assert stat.S_IMODE(path.stat().st_mode) == mode


def test_a_new_file_has_the_permissions_of_any_new_file(tmp_path):
    old = os.umask(0o027)
    try:
        write_bytes(tmp_path / "a", b"x")
    finally:
        os.umask(old)
    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == 0o640


@pytest.mark.skipif(not ROOT, reason="only the superuser may give files away")
def test_the_owner_of_an_existing_file_is_kept(tmp_path):
    path = tmp_path / "a"
    path.write_bytes(b"old")
    os.chown(path, 1234, 4321)
    write_bytes(path, b"new")
    assert (path.stat().st_uid, path.stat().st_gid) == (1234, 4321)


# ---- copies and sweeping


def test_a_copy_never_overwrites(tmp_path, monkeypatch):
    monkeypatch.setattr(write, "_now", lambda: "2025-11-25 090612")
    path = tmp_path / "deck.xlsx"
    path.write_bytes(b"1")
    path.chmod(0o600)
    first = backup(path)
    path.write_bytes(b"2")
    second = backup(path)
    assert (first.name, second.name) == ("deck before 2025-11-25 090612.xlsx", "deck before 2025-11-25 090612 (2).xlsx")
    assert contents(tmp_path) == {"deck.xlsx": b"2", first.name: b"1", second.name: b"2"}
    assert stat.S_IMODE(first.stat().st_mode) == 0o600


def test_a_copy_on_a_disk_without_hard_links(tmp_path, monkeypatch):
    monkeypatch.setattr(write, "_now", lambda: "2025-11-25 090612")

    def no_links(*_):
        raise OSError(errno.EPERM, "no links")

    monkeypatch.setattr(write._os, "link", no_links)
    path = tmp_path / "deck.xlsx"
    path.write_bytes(b"1")
    assert backup(path).name != backup(path).name
    assert len(contents(tmp_path)) == 3


def test_a_copy_of_nothing(tmp_path):
    with pytest.raises(WriteFailed, match="could not be read"):
        backup(tmp_path / "deck.xlsx")
    assert not contents(tmp_path)


def test_only_our_own_stale_temporaries_are_swept(tmp_path):
    day_ago = time.time() - 90_000
    ours = tmp_path / ".baybook-0123456789abcdef.tmp"
    young = tmp_path / ".baybook-0123456789abcde0.tmp"
    others = [tmp_path / name for name in ("a.tmp", ".baybook-x.tmp", ".baybook-0123456789abcdef.tmp.csv", "deck.xlsx")]
    for path in (ours, young, *others):
        path.write_bytes(b"x")
        os.utime(path, (day_ago, day_ago))
    os.utime(young)
    link = tmp_path / ".baybook-0123456789abcde1.tmp"
    link.symlink_to(others[0])
    os.utime(link, (day_ago, day_ago), follow_symlinks=False)
    assert sweep(tmp_path) == (ours,)
    assert {path.name for path in tmp_path.iterdir()} == {path.name for path in (young, link, *others)}
    assert sweep(tmp_path / "missing") == ()
