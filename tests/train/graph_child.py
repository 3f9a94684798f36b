"""Makes tiny graphs and tells them as JSON, in a process of its own: pynini and vosk cannot be loaded together.

python -m tests.train.graph_child FOLDER
"""

import json
import sys
from itertools import product
from pathlib import Path

import pynini
from pywrapfst import Arc

from assistant.speech.jsgf import read_grammar
from assistant.train.graph import Costs, _convert, build_lexicon_graph, grammar_graph
from assistant.train.lexicon import Phones

JSGF = """#JSGF V1.0; grammar tiny;
public <ask> = one [two] | (two | go) <rest> {thing};
<rest> = go go;
"""
LEXICON = {"one": (("A", "B"),), "two": (("B",), ("C", "A", "B")), "go": (("C",),)}
COSTS = Costs(silence=0.5, word=0.25, first_phone=1.0, phone=2.0, last_phone=4.0, unknown=8.0, words={"two": -16.0})
PHONES = ["SIL", *(f"{name}_{place}" for name in "ABC" for place in "BEIS")]
LONGEST = 4


def _line(labels: list[int]) -> pynini.Fst:
    line = pynini.Fst()
    line.set_start(line.add_state())
    for place, label in enumerate(labels):
        line.add_arc(place, Arc(label, label, 0, line.add_state()))
    line.set_final(len(labels), 0)
    return line


def _cost(graph: pynini.Fst, labels: list[int]) -> float | None:
    """The cheapest way by OpenFst's own composition; None where there is none."""
    both = pynini.compose(_line(labels), graph)
    if both.start() == -1:
        return None
    return float(pynini.shortestdistance(both, reverse=True)[both.start()])


def _told(graph: pynini.Fst) -> dict[str, object]:
    arcs = [
        [state, arc.ilabel, arc.olabel, float(arc.weight), arc.nextstate]
        for state in graph.states()
        for arc in graph.arcs(state)
    ]
    final = {state: float(graph.final(state)) for state in graph.states() if float(graph.final(state)) != float("inf")}
    return {"start": graph.start(), "arcs": arcs, "final": final}


def main(folder: Path) -> None:
    table = "".join(f"{name} {number}\n" for number, name in enumerate(["<eps>", *PHONES]))
    (folder / "phones.txt").write_text(table, encoding="utf-8")
    ids = build_lexicon_graph(Phones(folder / "phones.txt"), LEXICON, COSTS, folder)
    _convert("--fst_type=vector", str(folder / "HCLr.fst"), str(folder / "HCL.fst"))
    graph = grammar_graph(read_grammar("tiny", {"tiny": JSGF}), ids, COSTS.unknown)
    words = [*LEXICON, "[unk]"]
    said = [list(each) for size in range(LONGEST + 1) for each in product(words, repeat=size)]
    costs = [[each, _cost(graph, [ids[word] for word in each])] for each in said]
    print(json.dumps({"ids": ids, "costs": costs, "lexicon": _told(pynini.Fst.read(str(folder / "HCL.fst")))}))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
