"""Projects on disk: whole, never over a newer one, never outside the folder."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import msgspec
import pytest

from glasswork.errors import GlassworkError, ReadError
from glasswork.model.project import Project
from glasswork.web import bundle
from glasswork.web.bundle import export_project, import_project, unpacked
from glasswork.web.state import done, glazed
from glasswork.web.store import NewerError, Record, Store, safe_name, write_whole

SVG = b'<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm"/>'


@pytest.fixture
def store(tmp_path: Path) -> Store:
    return Store(tmp_path / "projects")


@pytest.fixture
def record(store: Store) -> Record:
    return store.create("Ferry", "ferry.svg", SVG, project=None)


def step(store: Store, record: Record, glass: str) -> Record:
    history = done(record.history, glazed(["A1"], glass), label=glass)
    return store.save(record, title=record.title, history=history)


def test_saved_is_loaded(store: Store, record: Record) -> None:
    saved = step(store, record, "ruby")
    assert store.load(record.id) == saved
    assert store.drawing(saved) == SVG
    assert store.every() == [saved]


def test_a_newer_record_is_never_written_over(store: Store, record: Record) -> None:
    newer = step(store, record, "ruby")
    with pytest.raises(NewerError, match="nothing was written over"):
        step(store, record, "cobalt")
    assert store.load(record.id) == newer


def test_a_removed_project_is_not_brought_back_by_a_save(store: Store, record: Record) -> None:
    store.remove(record.id)
    with pytest.raises(NewerError):
        step(store, record, "ruby")
    assert not store.place(record.id).exists()


def test_a_lock_left_by_a_killed_process_is_passed_over(store: Store, record: Record) -> None:
    lock = store.place(record.id) / ".lock"
    lock.touch()
    past = time.time() - 60
    os.utime(lock, (past, past))
    assert step(store, record, "ruby").revision == record.revision + 1


def test_a_failing_write_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "a"
    write_whole(target, b"old")

    def broken(_: int) -> None:
        raise OSError(28, "no space left")

    monkeypatch.setattr(os, "fsync", broken)
    with pytest.raises(OSError, match="no space"):
        write_whole(target, b"new")
    assert target.read_bytes() == b"old"
    assert [p.name for p in tmp_path.iterdir()] == ["a"]


WRITER = """
import sys
from pathlib import Path
from glasswork.web.state import done, glazed
from glasswork.web.store import Store
store = Store(Path(sys.argv[1]))
record = store.load(sys.argv[2])
for i in range(100000):
    history = done(record.history, glazed([f"P{k}" for k in range(400)], f"g{i}"), label=str(i))
    record = store.save(record, title=record.title, history=history)
    print(record.revision, flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="kills by signal")
@pytest.mark.parametrize("after", [3, 11, 17])
def test_a_killed_writer_leaves_a_whole_record_with_all_it_told(
    store: Store, record: Record, after: int, root: Path
) -> None:
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, str(store.folder), record.id],
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(root)},
    )
    assert process.stdout is not None
    told = 0
    for _ in range(after):
        told = int(process.stdout.readline())
    process.send_signal(signal.SIGKILL)
    rest = process.stdout.read().split()
    process.stdout.close()
    process.wait()
    told = max([told, *(int(word) for word in rest)])
    there = store.load(record.id)
    assert there.revision in (told, told + 1)
    assert len(there.history.present.glass) == 400


@pytest.mark.parametrize("name", ["../x", "abc", "/etc/passwd00", "ABCDEFABCDEF", ""])
def test_only_ids_are_projects(store: Store, name: str) -> None:
    with pytest.raises(ReadError):
        store.load(name)


@pytest.mark.parametrize(
    ("name", "kept"),
    [
        ("../../etc/passwd", "passwd"),
        ("..\\..\\boot.ini", "boot.ini"),
        ("Mein Fenster (2).svg", "Mein-Fenster-2.svg"),
        (".hidden", "drawing.hidden"),
        ("<script>.svg", "script.svg"),
        ("", "drawing"),
        ("\0.svg", "drawing.svg"),
    ],
)
def test_names_become_plain(name: str, kept: str) -> None:
    assert safe_name(name) == kept


# ------------------------------------------------------------------------------------ one file


def test_exported_is_imported_under_a_new_id(store: Store, record: Record) -> None:
    saved = step(store, record, "ruby")
    write_whole(store.place(saved.id) / "profiles" / "mine.toml", b"title = 'x'")
    data = export_project(store, saved)
    fresh = import_project(store, data, name="ferry.zip")
    assert fresh.id != saved.id
    assert fresh.history == saved.history
    assert store.drawing(fresh) == SVG
    assert (store.place(fresh.id) / "profiles" / "mine.toml").read_bytes() == b"title = 'x'"
    assert {r.id for r in store.every()} == {saved.id, fresh.id}


def test_exports_of_one_state_are_the_same_bytes(store: Store, record: Record) -> None:
    assert export_project(store, record) == export_project(store, record)


def packed(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


@pytest.mark.parametrize(
    "name",
    [
        "../evil.svg",
        "drawings/../../evil.svg",
        "/etc/evil",
        "C:\\evil",
        "drawings\\..\\evil",
        "drawings//evil",
        "drawings/.ssh/key",
        "a\nb",
    ],
)
def test_names_that_lead_out_are_refused(store: Store, name: str, tmp_path: Path) -> None:
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(ReadError, match="leads out"):
        import_project(store, packed({name: b"x"}), name="evil.zip")
    assert sorted(tmp_path.rglob("*")) == before


def test_links_are_refused(store: Store) -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        link = zipfile.ZipInfo("drawings/link")
        link.external_attr = 0o120777 << 16
        archive.writestr(link, "/etc/passwd")
    with pytest.raises(ReadError, match="is a link"):
        import_project(store, out.getvalue(), name="link.zip")


def test_a_bomb_is_refused_before_it_fills_memory(store: Store) -> None:
    bomb = packed({"drawings/a/big.svg": bytes(bundle.MOST_UNPACKED + 1)})
    assert len(bomb) < 200_000
    with pytest.raises(ReadError, match="unpacks to more"):
        import_project(store, bomb, name="bomb.zip")


def test_a_lying_length_is_found_out() -> None:
    data = bytearray(packed({"drawings/a/big.svg": bytes(4096)}))
    place = data.index(b"PK\x01\x02") + 24
    data[place : place + 4] = (10).to_bytes(4, "little")
    place = data.index(b"PK\x03\x04") + 22
    data[place : place + 4] = (10).to_bytes(4, "little")
    with pytest.raises(ReadError):
        unpacked(bytes(data), name="lie.zip")


def test_too_many_files_are_refused() -> None:
    many = packed({f"drawings/{i}": b"" for i in range(bundle.MOST_FILES + 1)})
    with pytest.raises(ReadError, match="over the limit"):
        unpacked(many, name="many.zip")


@pytest.mark.parametrize("cut", [0, 10, 200, -1, -30])
def test_a_damaged_file_is_refused(store: Store, record: Record, cut: int) -> None:
    data = export_project(store, record)
    with pytest.raises(ReadError):
        import_project(store, data[:cut], name="cut.zip")


@pytest.mark.parametrize(
    "wrong",
    [
        {"design": "../../../etc/passwd"},
        {"design": "drawings/none/none.svg"},
        {"printer": "../../secret.toml"},
        {"printer": "/etc/secret.toml"},
        {"palette": "..\\x.toml"},
        {"light": "../led-b3"},
        {"outer_board": "../card"},
        {"retainer_board": "/etc/card.toml"},
        {"opening_drawing": "../../niche.svg"},
        {"photo": "/etc/passwd"},
    ],
)
def test_a_project_that_names_files_outside_is_refused(
    store: Store, record: Record, wrong: dict[str, str]
) -> None:
    present = msgspec.structs.replace(record.history.present, **wrong)
    evil = msgspec.structs.replace(
        record, history=msgspec.structs.replace(record.history, present=present)
    )
    data = packed({"bench.json": msgspec.json.encode(evil), record.history.present.design: SVG})
    with pytest.raises(ReadError):
        import_project(store, data, name="evil.zip")


def test_a_history_that_leads_out_is_refused(store: Store, record: Record) -> None:
    step_out = {
        "label": "x",
        "does": {"values": {"design": "drawings/a/b.svg"}},
        "undoes": {"values": {"printer": "../../secret.toml"}},
    }
    plain = msgspec.to_builtins(record)
    plain["history"]["past"] = [step_out]
    data = packed({"bench.json": msgspec.json.encode(plain), record.history.present.design: SVG})
    with pytest.raises(GlassworkError, match="leads out"):
        import_project(store, data, name="evil.zip")


def test_settings_compose_by_name_on_the_command_line(store: Store, record: Record) -> None:
    from glasswork.readers.project import read_project

    file = store.place(record.id) / "project.toml"
    assert read_project(file.read_bytes(), where="project.toml") == record.history.present
    assert isinstance(record.history.present, Project)
