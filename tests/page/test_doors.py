"""Who is let in: hosts, origins, tokens, codes, forms, sizes."""

from __future__ import annotations

from pathlib import Path

import pytest

from millcalc.page import serve, tuning
from millcalc.page.sessions import Sessions
from tests.page.doors import BASE, Visitor, make_door


@pytest.fixture
def inside(tmp_path: Path) -> Visitor:
    return Visitor(make_door(tmp_path))


@pytest.fixture
def outside(tmp_path: Path) -> Visitor:
    return Visitor(make_door(tmp_path), inside=False)


def test_without_the_token_nothing_is_told(outside: Visitor) -> None:
    for path in ("/", "/settings", "/check", "/log", "/care", "/job/plate-a1b2c3", "/nowhere"):
        answer = outside.get(path)
        assert answer.status_code == 401 and "Open the address that the terminal shows" in answer.text
    assert outside.get("/enter/" + "x" * 43).status_code == 401
    assert outside.get("/").status_code == 401, "a wrong token opens nothing"


def test_the_token_opens_and_the_cookie_is_kept_from_scripts_and_strangers(outside: Visitor) -> None:
    answer = outside.get(f"/enter/{outside.door.sessions.token}")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie
    assert outside.get("/").status_code == 200


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1:1", "127.0.0.1", "", "127.0.0.1:49723.evil.example"]
)
def test_a_name_bent_to_this_machine_is_not_served(inside: Visitor, host: str) -> None:
    answer = inside.get("/", headers={"host": host})
    assert answer.status_code == 421 and "not served here" in answer.text


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:49723", "http://localhost:49723"]
)
def test_a_form_of_another_page_is_refused(inside: Visitor, origin: str) -> None:
    answer = inside.post("/units", {"units": "in"}, headers={"origin": origin}, follow_redirects=False)
    assert answer.status_code == 403
    assert inside.client.post("/units", data={"csrf": inside.csrf, "units": "in"}).status_code == 403
    assert "Units are millimetres" in inside.get("/").text


def test_a_form_without_the_sittings_secret_is_refused(inside: Visitor) -> None:
    for secret in ("", "x" * 43):
        answer = inside.client.post("/units", data={"csrf": secret, "units": "in"}, headers={"origin": BASE})
        assert answer.status_code == 403 and "open the page again" in answer.text
    assert inside.post("/units", {"units": "in"}).status_code == 200
    assert "Units are inches" in inside.get("/").text


def test_every_answer_forbids_foreign_and_inline_scripts(inside: Visitor) -> None:
    for path in ("/", "/care", "/nowhere", "/static/page.js"):
        answer = inside.get(path)
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "script-src 'self'" in policy and "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
    text = inside.get("/").text
    assert "<script>" not in text and "style=" not in text and " onclick" not in text


def test_a_body_too_large_is_refused_before_it_is_read(
    inside: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    answer = inside.post("/units", {"units": "m" * (tuning.MOST_FORM_BYTES + 1)})
    assert answer.status_code == 413 and "at most 1 MB" in answer.text

    def drops() -> object:  # without a length: counted while it comes
        for _ in range(40):
            yield b"units=" + b"m" * 50_000

    headers = {"origin": BASE, "x-csrf": inside.csrf, "content-type": "application/x-www-form-urlencoded"}
    assert inside.client.post("/units", content=drops(), headers=headers).status_code == 413


def test_a_packed_body_is_refused(inside: Visitor) -> None:
    import gzip

    bomb = gzip.compress(b"0" * 10_000_000)
    headers = {
        "origin": BASE,
        "content-encoding": "gzip",
        "content-type": "application/x-www-form-urlencoded",
    }
    answer = inside.client.post("/units", content=bomb, headers=headers)
    assert answer.status_code == 415 and "send the file as it is" in answer.text


def test_a_phone_comes_in_by_a_code_that_works_once(tmp_path: Path) -> None:
    door = make_door(tmp_path, phone=True)
    phone = Visitor(door, inside=False)
    assert "I have a one-time code" in phone.get("/").text
    code = door.sessions.code
    wrong = "0" * 6 if code != "0" * 6 else "1" * 6
    assert phone.post("/code", {"code": wrong}).status_code == 401
    assert phone.get("/").status_code == 401
    assert phone.post("/code", {"code": f"{code[:3]} {code[3:]}"}).status_code == 200
    assert phone.get("/").status_code == 200
    assert Visitor(door, inside=False).post("/code", {"code": code}).status_code == 401, "it was used"


def test_codes_cannot_be_guessed_by_trying() -> None:
    told: list[str] = []
    sessions = Sessions(phone=True, tell=told.append)
    for _ in range(tuning.CODE_TRIES):
        assert sessions.enter("x") is None
    assert len(told) == 2, "after a few wrong tries there is a new code"
    for _ in range(tuning.CODE_TRIES_IN_ALL):
        sessions.enter("x")
    assert sessions.closed and sessions.enter(sessions.code) is None


def test_without_a_phone_there_is_no_door_for_one(outside: Visitor) -> None:
    assert outside.get("/code").status_code == 404
    assert outside.post("/code", {"code": ""}).status_code == 404


def test_files_are_known_ones_only(inside: Visitor) -> None:
    assert inside.get("/static/page.css").status_code == 200
    for name in ("app.py", "../app.py", "%2e%2e/app.py", "page.css%00"):
        assert inside.get(f"/static/{name}").status_code in (401, 404)


def test_it_listens_on_this_machine_only_and_takes_another_port_when_its_own_is_in_use() -> None:
    first = serve.listen("127.0.0.1", 0)
    second = serve.listen("127.0.0.1", 0)
    assert {first.getsockname()[0], second.getsockname()[0]} == {"127.0.0.1"}
    assert first.getsockname()[1] != second.getsockname()[1]
    first.close()
    second.close()


def test_the_qr_code_says_the_address() -> None:
    lines = serve.qr_lines("http://192.0.2.7:49723/code", unicode=False)
    assert len(lines) * 2 == len(lines[0]) and set("".join(lines)) == {" ", "#"}
    half = serve.qr_lines("http://192.0.2.7:49723/code", unicode=True)
    assert len(half) == (len(lines) + 1) // 2


def test_a_body_that_takes_too_long_is_given_up(inside: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tuning, "UPLOAD_SECONDS", 0.0)
    answer = inside.post("/units", {"units": "in"})
    assert answer.status_code == 408 and "took too long to arrive" in answer.text
    monkeypatch.undo()
    assert "Units are millimetres" in inside.get("/").text


def test_what_an_installed_page_keeps_is_its_shell_and_no_result(outside: Visitor) -> None:
    import json
    import re

    manifest = json.loads(outside.get("/manifest.webmanifest").text)
    assert manifest["start_url"] == manifest["scope"] == "/" and manifest["display"] == "standalone"
    script = outside.get("/offline.js")
    assert "no-store" in script.headers["cache-control"] and "__" not in script.text
    kept = json.loads(re.search(r"FILES = (\[.*?\]);", script.text)[1])  # type: ignore[index]
    assert kept[0] == "/offline" and all(name.startswith("/static/") for name in kept[1:])
    for name in kept:
        assert outside.get(name).status_code == 200, "the shell is open to everybody, it tells nothing"
    assert "Start it in a terminal" in outside.get("/offline").text
    assert kept[1] in outside.get("/offline").text, "the page is kept with the style that it asks for"
