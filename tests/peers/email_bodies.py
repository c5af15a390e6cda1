#!/usr/bin/env python3
"""What Python's own `email` package reads in the saved emails of tests/drops.

Writes tests/standards/data/python-email.json: for each file the text of the body that
`EmailMessage.get_body(("plain", "html"))` chooses, and of every text part, emails sent along included.
Lines have their white space folded and blank ones left out; of HTML, which breaks into lines by no rule of the
package, all words stand on one line.

    python3 tests/peers/email_bodies.py
"""

import json
import platform
from email import message_from_bytes, policy
from html.parser import HTMLParser
from pathlib import Path

TESTS = Path(__file__).resolve().parent.parent
UNSEEN = {"head", "style", "script", "title", "template"}
# Tags that words don't run across.
BREAKING = {"address", "blockquote", "br", "div", "dd", "dl", "dt", "h1", "h2", "h3", "hr", "li", "ol", "p", "pre",
            "table", "td", "th", "tr", "ul"}


class Words(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.unseen, self.text = 0, []

    def handle_starttag(self, tag, attrs):
        self.unseen += tag in UNSEEN
        if tag in BREAKING:
            self.text.append(" ")

    def handle_endtag(self, tag):
        self.unseen -= tag in UNSEEN
        if tag in BREAKING:
            self.text.append(" ")

    def handle_data(self, data):
        if not self.unseen:
            self.text.append(data)


def text_of(part):
    content = part.get_content()
    if part.get_content_type() != "text/html":
        lines = [" ".join(line.split()) for line in content.splitlines()]
        return {"type": "plain", "lines": [line for line in lines if line]}
    parser = Words()
    parser.feed(content)
    parser.close()
    return {"type": "html", "lines": [" ".join("".join(parser.text).split())]}


def read(path):
    raw = path.read_bytes()
    message = message_from_bytes(raw, policy=policy.default)
    body = message.get_body(("plain", "html"))
    parts = [part for part in message.walk() if part.get_content_type() in ("text/plain", "text/html")]
    return {"file": path.name, "body": text_of(body) if body else None, "parts": [text_of(part) for part in parts]}


def main():
    files = sorted((TESTS / "drops").glob("*.eml"))
    document = {
        "made_by": "tests/peers/email_bodies.py",
        "with": f"the email package of Python {platform.python_version()}",
        "files": [read(path) for path in files],
    }
    out = TESTS / "standards" / "data" / "python-email.json"
    out.write_text(json.dumps(document, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    print(f"{len(files)} emails, {out}")


if __name__ == "__main__":
    main()
