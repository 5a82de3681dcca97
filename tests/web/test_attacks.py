"""What someone with bad intent would try, each against the whole house."""

from __future__ import annotations

import io
import json
import random
import re
import zipfile
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from asking import Browser
from filed_pair import file_pair
from PIL import Image

from seamlight.mistake import Mistake
from seamlight.shop import builds
from seamlight.shop.backup import backup
from seamlight.shop.choices import choice
from seamlight.shop.classes import add_students, give_build, new_class
from seamlight.shop.export import rack_csv
from seamlight.shop.restore import restore
from seamlight.shop.shop import Shop
from seamlight.shop.wood import new_pair
from seamlight.web.serving import Limits
from seamlight.web.uploads import picture

Paired = Callable[..., Browser]
EVIL = "<img src=x onerror=alert(1)>\"'</script><script>alert(2)</script>"
HUGE = "9" * 25


@pytest.fixture
def ada(shop: Shop) -> int:
    """A student with an instrument."""
    with shop.change("owner") as change:
        new_class(change, EVIL)
        (student,) = add_students(change, 1, EVIL)
        builds.new_build(change, label=EVIL[:40])
        give_build(change, student.id, 1)
    return student.id


def test_names_and_notes_are_never_markup_on_any_page(
    owner: Browser, shop: Shop, ada: int, paired: Paired
) -> None:
    pair = file_pair(shop, label=EVIL[:12])
    here = f"/wood/pairs/{pair.id}"
    owner.press("/shop/settings", shop_name=EVIL[:60], maker=EVIL[:60])
    fields = dict.fromkeys(("species", "botanical", "supplier", "lies_at", "reserved_for", "notes"), EVIL)
    typed = {"label": EVIL[:12], "kind": "top", "version": "1", "grade_by_eye": EVIL, **fields}
    assert owner.press(f"{here}/edit", **typed).status_code == 303
    owner.press(f"{here}/planed", planed_leaf="a", planed_mm="0.4", planed_note=EVIL)
    owner.press("/shop/air", rh="45", temp="20", note=EVIL)
    paper = {"files": (EVIL, EVIL.encode(), "text/html")}
    owner.press(f"{here}/photos", files=paper, photo_role="paper", photo_note=EVIL)
    owner.press(f"{here}/runout", runout=EVIL)
    owner.press("/bench/stage", pair=str(pair.id), stage="jointed")
    paired(EVIL[:60])
    pages = ["/", "/wood", here, "/builds", "/builds/1", "/builds/match", "/classes", "/classes/1"]
    pages += [f"/students/{ada}", "/shop", "/shop/air", "/shop/settings", "/shop/devices", "/shop/deleted"]
    pages += ["/shop/labels", "/shop/grades/rack", f"/wood?q={EVIL}", f"/{EVIL}", f"{here}?outline={EVIL}"]
    for path in pages:
        page = owner.get(path).text
        assert not hostile_in(page), path


def hostile_in(page: str) -> list[str]:
    """Tags and attributes that no page of ours has, as a browser would find them."""
    found: list[str] = []

    class Finder(HTMLParser):
        def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
            said = dict(attrs)
            found.extend(name for name in said if name.startswith("on"))
            if tag == "script" and not (said.get("src") or "").startswith("/static/"):
                found.append("script")
            if tag == "img" and said.get("src") == "x":
                found.append("img")

    Finder().feed(page)
    return found


@pytest.mark.parametrize(
    "path",
    [
        *(f"/{place}/{HUGE}" for place in ("wood/pairs", "students", "builds", "classes", "api/pairs")),
        f"/students/1/pairs/{HUGE}/picture",
        f"/wood/pairs/{HUGE}/marking.pdf",
        f"/api/pairs/{HUGE}/work",
        f"/api/pairs/{HUGE}/reading",
    ],
)
def test_a_number_beyond_all_numbers_is_nothing_here(owner: Browser, ada: int, path: str) -> None:
    assert owner.get(path).status_code == 404


@pytest.mark.parametrize(
    "fields",
    [
        {"base": "{}"},
        {"base": "[" * 2000},
        {"version": "zzz"},
        {"version": HUGE},
        {"tilt": "nan"},
        {"tilt": "1e308"},
        {"inward": HUGE},
        {"along": "-" + HUGE},
    ],
)
def test_a_placing_that_no_page_of_ours_sends_is_told_and_not_kept(
    owner: Browser, shop: Shop, fields: dict[str, str]
) -> None:
    pair = file_pair(shop)
    base = {"joint_edge": "right", "neck_end": 1, "show_face": "sawn", "tilt_deg": 0, "offset_mm": -60}
    sent = {
        "outline": "parlour",
        "version": "0",
        "base": json.dumps({**base, "shift_mm": -240, "slide_mm": 0}),
    }
    answer = owner.press(f"/wood/pairs/{pair.id}/place", **{**sent, **fields})
    assert answer.status_code in (409, 422)
    with shop.read() as session:
        assert choice(session, pair.id) is None


def test_a_version_that_is_none_overwrites_nothing(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    answer = owner.press(f"/wood/pairs/{pair.id}/edit", label="mine", kind="top", version="latest")
    assert answer.status_code == 409


@pytest.mark.parametrize("who", ["stranger", "student"])
def test_who_may_bring_no_files_may_bring_no_large_body(
    stranger: Browser, paired: Paired, ada: int, who: str
) -> None:
    asker = stranger if who == "stranger" else paired(student_id=ada)
    path = "/pair-with/AAAA-BBBB" if who == "stranger" else f"/students/{ada}/builds/1/readings"
    files = {"photo": ("large.jpg", b"x" * (Limits().form_bytes + 1), "image/jpeg")}
    assert asker.post(path, data={"csrf": asker.token()}, files=files).status_code == 413


def test_no_form_and_no_json_is_taken_without_the_pages_token(owner: Browser, shop: Shop) -> None:
    pair = file_pair(shop)
    owner.token()
    body = '{"outline": "parlour", "placing": {}, "version": 0}'
    for kind in ("application/json", "text/plain", "application/x-www-form-urlencoded"):
        answer = owner.put(f"/api/pairs/{pair.id}/choice", content=body, headers={"content-type": kind})
        assert answer.status_code == 403, kind
    files = {"photo": ("x.jpg", b"x", "image/jpeg")}
    assert owner.post("/api/arrivals", data={"key": "1"}, files=files).status_code == 403
    assert owner.post("/api/arrivals?csrf=1", data={"key": "1", "csrf": "x"}, files=files).status_code == 403


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "/\\evil.example", "/\t/evil.example"]
)
def test_a_way_back_leads_nowhere_else(owner: Browser, shop: Shop, back: str) -> None:
    pair = file_pair(shop)
    answer = owner.press("/bench/stage", pair=str(pair.id), stage="jointed", back=back)
    assert answer.status_code == 303
    assert "evil" not in answer.headers["location"]


@pytest.mark.parametrize("begins", ["=", "+", "-", "@", "\N{FULLWIDTH EQUALS SIGN}"])
def test_no_cell_of_the_rack_is_a_formula(shop: Shop, begins: str) -> None:
    with shop.change("owner") as change:
        new_pair(
            change, kind="top", notes=f'{begins}HYPERLINK("http://evil.example")', supplier=f"{begins}1+1"
        )
    with shop.read() as session:
        table = rack_csv(session)
    for cell in re.findall(r"(?:^|,)\"?([^,\"]+)", table, re.M):
        assert not cell.startswith(begins)


def test_a_drawing_that_swells_when_it_is_read_is_refused(owner: Browser) -> None:
    levels = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 12))
    svg = '<svg xmlns="http://www.w3.org/2000/svg">'
    bomb = f'<!DOCTYPE svg [<!ENTITY l0 "lol">{levels}]>{svg}<text>&l11;</text></svg>'
    outside = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>{svg}<path d="&x;"/></svg>'
    for drawing in (bomb, outside):
        files = {"drawing": ("outline.svg", drawing.encode(), "image/svg+xml")}
        answer = owner.press("/shop/outlines", files=files, name="bomb")
        assert answer.status_code == 422
        assert "root:" not in answer.text


def test_a_backup_that_claims_more_than_the_disk_holds_is_refused_at_once(shop: Shop, tmp_path: Path) -> None:
    backup(shop, tmp_path / "shop.zip")
    with zipfile.ZipFile(tmp_path / "shop.zip") as file:
        contents = {name: file.read(name) for name in file.namelist()}
    manifest = json.loads(contents["manifest.json"])
    manifest["members"].append({"name": f"photos/{'0' * 64}", "sha256": "0" * 64, "size": 10**18})
    contents["manifest.json"] = json.dumps(manifest).encode()
    with zipfile.ZipFile(tmp_path / "bomb.zip", "w") as file:
        for name, data in contents.items():
            file.writestr(name, data)
    with pytest.raises(Mistake, match="the disk has room for"):
        restore(tmp_path / "bomb.zip", tmp_path / "again")
    assert not (tmp_path / "again").exists()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_a_picture_spoilt_at_random_is_a_picture_or_a_mistake(kind: str) -> None:
    rng = random.Random(11)
    held = io.BytesIO()
    rgb = np.random.default_rng(3).integers(0, 255, (40, 60, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x0132] = "2026:03:12 10:00:00"
    exif.get_ifd(0x8769)[0x9003] = "2026:03:12 10:00:00"
    Image.fromarray(rgb).save(held, kind, exif=exif)
    whole = held.getvalue()
    for _ in range(400):
        spoilt = bytearray(whole)
        for _ in range(rng.choice((1, 2, 8))):
            spoilt[rng.randrange(min(len(spoilt), 600))] = rng.randrange(256)
        try:
            found = picture(bytes(spoilt[: rng.randrange(1, len(spoilt))]), "spoilt", Limits())
        except Mistake:
            continue
        assert found.media_type.startswith("image/")
