"""The words of the pages: each once, each in use, and those of the glossary among them."""

import re

import pytest

from etsched.reference.words import word_groups

WORDS = [word for group in word_groups() for word in group.words]
# Of the glossary, what only the program's own text says.
INSIDE = {"deficit", "assumption", "applied minutes"}
# The glossary's word beside the page's, where they differ.
SAID = {"applied": "depth applied", "credited": "depth credited", "water days": "water day",
        "allowable depletion": "allowable depletion (MAD)", "unlikely": "possible"}  # fmt: skip


@pytest.fixture(scope="module")
def pages(root):
    """What stands in the templates and in the sentences that the program writes, in small letters."""
    package = root / "etsched"
    folders = ("web/templates", "reports/templates", "tables", "planning", "usecases")
    files = [path for folder in folders for path in sorted((package / folder).iterdir()) if path.is_file()]
    return "\n".join(path.read_text("utf-8") for path in files if path.name != "words.html.j2").lower()


def test_no_word_is_told_twice():
    written = [each.lower() for word in WORDS for each in (word.name.partition(" (")[0], *word.also)]
    assert len(written) == len(set(written))
    assert len({word.anchor for word in WORDS}) == len(WORDS)


@pytest.mark.parametrize("word", WORDS, ids=lambda word: word.name)
def test_a_word_is_used_and_says_a_sentence(word, pages):
    written = word.also or (word.name.partition(" (")[0],)
    assert [each for each in written if not re.search(rf"\b{re.escape(each.lower())}", pages)] == []
    assert word.says[0].isupper()
    assert word.says.endswith(".")


def test_the_glossary_is_among_them(root):
    text = (root / "DEVELOPERS.md").read_text("utf-8").split("## Glossary\n")[1].split("\n## ")[0]
    listed = re.findall(r"(?:^|[.;] )([A-Za-z][A-Za-z(), ]*): ", text.strip())
    terms = {term for each in listed for term in each.split(", ")}
    assert len(terms) > 15
    known = {word.name for word in WORDS}
    assert {SAID.get(term, term) for term in terms - INSIDE} <= known
    assert terms >= INSIDE  # the list of what is left out does not outlive the glossary


def test_the_anchor_is_an_address():
    assert {word.anchor for word in WORDS} >= {"station", "du-lq", "allowable-depletion-mad"}
    assert all(re.fullmatch(r"[a-z-]+", word.anchor) for word in WORDS)
