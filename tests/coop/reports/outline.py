"""A page as a reader's software takes it: tags with attributes, and words."""

import re
from html.parser import HTMLParser


class Outline(HTMLParser):
    """Tags with their attributes, and the text between them."""

    def __init__(self, html):
        super().__init__()
        self.tags = []
        self.text = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text.append(data)

    def of(self, name):
        return [attributes for tag, attributes in self.tags if tag == name]

    @property
    def words(self):
        return re.sub(r"\s+", " ", " ".join(self.text))
