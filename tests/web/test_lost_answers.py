"""A client that lost the answer of a PUT or a DELETE sends the same again and learns that it is done."""

import pytest

URL = {"url": "https://events.example.org/x"}
ENDED = [("webhooks", "webhook", URL, "webhook ended"), ("calendar", "calendar", None, "calendar address revoked")]


def trail_of(played, did):
    entries = played.ask("GET", "/v1/sites/grange/trail?most=200").json()["entries"]
    return [each for each in entries if each["did"] == did]


@pytest.mark.parametrize(("name", "field", "body", "did"), ENDED)
def test_the_same_delete_is_answered_alike_and_done_once(played, name, field, body, did):
    made = played.ask("POST", f"/v1/sites/grange/{name}", json=body).json()[field]
    for _ in range(3):
        answer = played.ask("DELETE", f"/v1/sites/grange/{name}/{made}")
        assert (answer.status_code, answer.json()) == (200, {})
        assert len(trail_of(played, did)) == 1
    assert played.ask("GET", f"/v1/sites/grange/{name}").json()[name if name == "webhooks" else "calendars"] == []
    # What was never there is no more done than what another property has.
    other = made[:-1] + ("0" if made[-1] != "0" else "1")
    assert played.ask("DELETE", f"/v1/sites/grange/{name}/{other}").status_code == 404
    assert played.ask("DELETE", f"/v1/sites/other-place/{name}/{made}").status_code == 404
    assert played.ask("DELETE", f"/v1/sites/grange/{name}/{made}", key="foreign").status_code == 404


def test_the_same_put_of_a_known_site_is_answered_alike_and_done_once(played):
    read = played.ask("GET", "/v1/sites/grange")
    put = {"json": {"document": read.json()["document"].replace("Courtyard", "Cloister")}}
    same = {"headers": {"if-match": read.headers["etag"]}}
    first = played.ask("PUT", "/v1/sites/grange", **put, **same)
    assert (first.status_code, first.json()["revision"]) == (200, 2)
    for more in (same, {}, {"headers": {"if-match": first.headers["etag"]}}):
        again = played.ask("PUT", "/v1/sites/grange", **put, **more)
        assert (again.status_code, again.content) == (200, first.content)
        assert again.headers["etag"] == first.headers["etag"]
    assert [each["detail"] for each in trail_of(played, "site put")] == ["revision 1", "revision 2"]


def test_the_same_put_is_refused_once_somebody_changed_the_site_since(played):
    read = played.ask("GET", "/v1/sites/grange")
    mine, theirs = ({"document": read.json()["document"].replace("Courtyard", name)} for name in ("Cloister", "Quad"))
    headers = {"if-match": read.headers["etag"]}
    first = played.ask("PUT", "/v1/sites/grange", json=mine, headers=headers)
    since = played.ask("PUT", "/v1/sites/grange", json=theirs, headers={"if-match": first.headers["etag"]})
    assert since.status_code == 200
    again = played.ask("PUT", "/v1/sites/grange", json=mine, headers=headers)
    assert (again.status_code, again.json()["type"]) == (412, "/problems/revision-moved")
    assert played.ask("PUT", "/v1/sites/grange", json=mine).status_code == 428
    assert played.ask("GET", "/v1/sites/grange").json()["document"] == theirs["document"]


def test_the_same_put_of_a_new_site_is_made_once(played, root):
    body = {"document": (root / "demo" / "site.toml").read_text("utf-8")}
    first, again = (played.ask("PUT", "/v1/sites/third", json=body) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert (again.content, again.headers["etag"]) == (first.content, first.headers["etag"])
    assert again.json()["revision"] == 1


def test_with_a_key_the_answer_is_the_first_one_to_the_letter(played, root):
    body = {"document": (root / "demo" / "site.toml").read_text("utf-8")}
    named = {"headers": {"idempotency-key": "put-third"}}
    first, again = (played.ask("PUT", "/v1/sites/third", json=body, **named) for _ in range(2))
    assert (first.status_code, again.status_code, again.content) == (201, 201, first.content)
