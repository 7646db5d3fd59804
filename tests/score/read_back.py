"""Reads scores back with two independent libraries and validates them; called by tests/core/score_readers.rs.

Usage: read_back.py FOLDER. For every NAME.musicxml of the folder, NAME.json has the strokes that were played:
[bar, onset in quarters as [numerator, denominator], step above the lowest line, head, open, grace]; its number of bars;
and those that stand under the sign for two bars.

The schema is the one that the PyPI package `musicxml` ships: MusicXML 4.0, published by the W3C Music Notation
Community Group. The two schemas that it imports (attributes of XML and XLink) are stated here.
"""

import importlib.util
import json
import pathlib
import sys
import tempfile
from collections import Counter
from fractions import Fraction

import lxml.etree as etree
import music21
import verovio

MEI = "{http://www.music-encoding.org/ns/mei}"
STEPS = "CDEFGAB"
# Where a hi-hat stands: struck by hand, and by foot.
HI_HAT = (9, -1)


def schema():
    package = pathlib.Path(importlib.util.find_spec("musicxml").origin).parent
    text = (package / "generate_classes" / "musicxml_4_0.xsd").read_text(encoding="utf8")
    folder = pathlib.Path(tempfile.mkdtemp())
    for name, space, attributes in [
        ("xml", "http://www.w3.org/XML/1998/namespace", "lang space"),
        ("xlink", "http://www.w3.org/1999/xlink", "href type role title show actuate"),
    ]:
        text = text.replace(f"http://www.musicxml.org/xsd/{name}.xsd", f"{name}.xsd")
        listed = "".join(f'<xs:attribute name="{a}" type="xs:string"/>' for a in attributes.split())
        (folder / f"{name}.xsd").write_text(
            '<xs:schema xmlns:xs="http://www.w3.org/2001/XMLSchema" '
            f'targetNamespace="{space}">{listed}</xs:schema>'
        )
    (folder / "musicxml.xsd").write_text(text, encoding="utf8")
    return etree.XMLSchema(etree.parse(str(folder / "musicxml.xsd")))


def expanded(measures, last):
    """Bars in the order of playing: `measures` are (number, strokes, begins a repeat, ends one)."""
    played, group = {}, []
    for place, (number, strokes, begins, ends) in enumerate(measures):
        if begins:
            group = []
        group.append(strokes)
        played[number] = strokes
        if ends:
            following = measures[place + 1][0] if place + 1 < len(measures) else last + 1
            first = number - len(group) + 1
            for bar in range(first, following):
                played[bar] = group[(bar - first) % len(group)]
            group = []
    return [
        (bar, *stroke) for bar, strokes in sorted(played.items()) for stroke in strokes
    ]


def of_music21(path, last):
    part = music21.converter.parse(path).parts[0]
    measures = []
    for measure in part.getElementsByClass("Measure"):
        strokes = []
        for note in measure.recurse().notes:
            heads = list(note.notes) if hasattr(note, "notes") else [note]
            offset = Fraction(note.getOffsetInHierarchy(measure)).limit_denominator(5760)
            for head in heads:
                step = 7 * head.displayOctave + STEPS.index(head.displayStep) - 30
                signs = note.articulations + ([] if head is note else head.articulations)
                # A chord has the signs of all its heads: the circle belongs to the hi-hat.
                is_open = step in HI_HAT and any(type(a).__name__ == "OpenString" for a in signs)
                strokes.append((offset, step, head.notehead, is_open, note.duration.isGrace))
                if any(type(e).__name__ == "Tremolo" for e in note.expressions):
                    half = Fraction(note.quarterLength) / 2
                    strokes.append((offset + half, step, head.notehead, is_open, False))
        left, right = measure.leftBarline, measure.rightBarline
        is_repeat = lambda line: isinstance(line, music21.bar.Repeat)
        measures.append((measure.number, strokes, is_repeat(left), is_repeat(right)))
    return expanded(measures, last)


# By the names of the engraver; U+E0B3 is the circled cross of the Standard Music Font Layout.
HEADS = {None: "normal", "x": "x", "U+E0B3": "circle-x", "diamond": "diamond"}


def strokes_of_layer(layer):
    """The strokes of a layer: an onset is the sum of what went before."""
    at, strokes = Fraction(0), []
    for element in layer.iter(f"{MEI}note", f"{MEI}chord", f"{MEI}rest", f"{MEI}mRest", f"{MEI}space"):
        if element.getparent().tag == f"{MEI}chord":
            continue
        grace = element.get("grace") is not None
        heads = [element] if element.tag == f"{MEI}note" else element.findall(f"{MEI}note")
        signs = [element] + element.findall(f"{MEI}artic")
        for head in heads:
            own = signs + [head] + head.findall(f"{MEI}artic")
            is_open = any("open" in (sign.get("artic") or "").split() for sign in own)
            is_open = is_open and int(head.get("loc")) in HI_HAT
            shape = HEADS.get(head.get("head.shape"), head.get("head.shape"))
            strokes.append((at, int(head.get("loc")), shape, is_open, grace))
            slashed = element.get("stem.mod") or element.getparent().tag == f"{MEI}bTrem"
            if slashed and not grace:
                half = Fraction(int(element.get("dur.ppq")), 960) / 2
                strokes.append((at + half, int(head.get("loc")), shape, is_open, False))
        if not grace:
            at += Fraction(int(element.get("dur.ppq") or 0), 960)
    return strokes


def of_verovio(path, last):
    toolkit = verovio.toolkit()
    toolkit.setOptions({"xmlIdSeed": 1})
    assert toolkit.loadFile(path), path
    mei = etree.fromstring(toolkit.getMEI().encode())
    measures = []
    for measure in mei.iter(f"{MEI}measure"):
        strokes = []
        if measure.find(f".//{MEI}mRpt") is not None:
            strokes = measures[-1][1]
        else:
            for layer in measure.iter(f"{MEI}layer"):
                strokes += strokes_of_layer(layer)
        begins, ends = measure.get("left") == "rptstart", measure.get("right") == "rptend"
        measures.append((int(measure.get("n")), strokes, begins, ends))
    return expanded(measures, last)


def compare(name, reader, found, expected):
    found, expected = Counter(found), Counter(expected)
    if found == expected:
        return True
    print(f"{name}: {reader} reads what was not played: {sorted((found - expected).elements())[:4]}")
    print(f"{name}: {reader} does not read what was played: {sorted((expected - found).elements())[:4]}")
    return False


def main():
    well, strokes = True, 0
    valid = schema()
    files = sorted(pathlib.Path(sys.argv[1]).glob("*.musicxml"))
    for path in files:
        document = etree.parse(str(path), etree.XMLParser(load_dtd=False, no_network=True))
        if not valid.validate(document):
            print(path.name, valid.error_log.filter_from_errors()[:3])
            well = False
        told = json.loads(path.with_suffix(".json").read_text())
        last = told["last"]
        expected = [
            (bar, Fraction(*onset), step, head, is_open, grace)
            for bar, onset, step, head, is_open, grace in told["strokes"]
        ]
        # verovio 6.4 takes the sign for two bars as two signs for one.
        pairs = {"music21": [], "verovio": told["pairs"]}
        strokes += len(expected)
        for reader, read in [("music21", of_music21), ("verovio", of_verovio)]:
            try:
                found, due = (
                    [stroke for stroke in all if stroke[0] not in pairs[reader]]
                    for all in (read(str(path), last), expected)
                )
                well &= compare(path.name, reader, found, due)
            except Exception as error:
                print(f"{path.name}: {reader}: {error!r}")
                well = False
    print(f"{len(files)} scores, {strokes} strokes, {'agreed' if well else 'NOT agreed'}")
    sys.exit(0 if well else 1)


main()
