"""Reading grade of plain text, by the published formula; syllables by the usual vowel-group rule."""

import re

SENTENCE = re.compile(r"[.!?:;](?:\s|$)|\n")


def syllables(word):
    """Groups of vowels, less a silent final e; 1 at the least. A number counts one a digit group."""
    word = word.lower()
    if not re.search(r"[a-z]", word):
        return 1
    word = re.sub(r"[^a-z]", "", word)
    count = len(re.findall(r"[aeiouy]+", word))
    if re.search(r"[^aeiouyl]e$", word) or (re.search(r"[^l]es$|[^dt]ed$", word) and count > 1):
        count -= 1
    return max(count, 1)


def grade(text):
    """Flesch-Kincaid grade: 0.39 words/sentence + 11.8 syllables/word - 15.59.

    Kincaid, Fishburne, Rogers and Chissom 1975, Research Branch Report 8-75, Naval Technical Training Command.
    """
    sentences = [s for s in SENTENCE.split(text) if re.search(r"[a-zA-Z]", s)]
    words = re.findall(r"[A-Za-z0-9][A-Za-z0-9',./-]*", text)
    return 0.39 * len(words) / len(sentences) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
