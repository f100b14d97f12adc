import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from loomwright.drawing.layout import Box, Graph, Link, Placed, Port, layout
from loomwright.drawing.tiers import arrange


@st.composite
def graphs(draw: st.DrawFn) -> Graph:
    """Graphs that flow from left to right, with ports in rows as on a diagram."""
    count = draw(st.integers(2, 9))
    pairs = draw(st.lists(st.tuples(st.integers(0, count - 2), st.integers(1, count - 1)), min_size=1, max_size=14))
    pairs = [(a, b) for a, b in pairs if a < b] or [(0, 1)]
    east: dict[int, int] = {}
    west: dict[int, int] = {}
    ports: dict[int, list[Port]] = {k: [] for k in range(count)}
    links = []
    for n, (a, b) in enumerate(pairs):
        east[a] = east.get(a, 0) + 1
        west[b] = west.get(b, 0) + 1
        ports[a].append(Port(f"{n}|left", "EAST", 6.8 * east[a]))
        ports[b].append(Port(f"{n}|right", "WEST", 6.8 * west[b]))
        links.append(Link(str(n), f"{n}|left", f"{n}|right", draw(st.sampled_from([None, (15.0, 12.0)]))))
    boxes = [
        Box(f"b{k}", draw(st.floats(10.0, 50.0)), 6.8 * (1 + max(east.get(k, 0), west.get(k, 0))), tuple(ports[k]))
        for k in range(count)
    ]
    return Graph(tuple(boxes), tuple(links))


def overlap(a: tuple[float, float, float, float], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] - 0.02 and b[0] < a[2] - 0.02 and a[1] < b[3] - 0.02 and b[1] < a[3] - 0.02


def through(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float, float, float]) -> bool:
    """True if the straight piece from p to q has a length inside the rectangle."""
    level = 1 if abs(p[1] - q[1]) < 0.02 else 0
    along = 1 - level
    inside = r[level] + 0.02 < p[level] < r[level + 2] - 0.02
    return inside and min(max(p[along], q[along]), r[along + 2]) - max(min(p[along], q[along]), r[along]) > 0.02


def rectangles(graph: Graph, placed: Placed) -> list[tuple[float, float, float, float]]:
    return [(x, y, x + b.width_mm, y + b.height_mm) for b in graph.boxes for x, y in [placed.boxes[b.id]]]


@settings(max_examples=15)
@given(graphs())
def test_wires_turn_at_right_angles_end_at_their_ports_and_pass_through_no_box(graph: Graph) -> None:
    placed = layout(graph)
    boxes = rectangles(graph, placed)
    for a, b in itertools.combinations(boxes, 2):
        assert not overlap(a, b)
    where = {p.id: (placed.boxes[b.id], b, p) for b in graph.boxes for p in b.ports}
    for link in graph.links:
        points = placed.links[link.id]
        for port_id, point in ((link.source, points[0]), (link.target, points[-1])):
            (x, y), box, port = where[port_id]
            assert abs(point[0] - (x + (box.width_mm if port.side == "EAST" else 0.0))) < 0.02
            assert abs(point[1] - (y + port.y_mm)) < 0.02
        for p, q in itertools.pairwise(points):
            assert abs(p[0] - q[0]) < 0.02 or abs(p[1] - q[1]) < 0.02
            assert not any(through(p, q, r) for r in boxes)
    labels = [
        (x, y, x + link.label_mm[0], y + link.label_mm[1])
        for link in graph.links
        if link.label_mm
        for x, y in [placed.labels[link.id]]
    ]
    for a, b in itertools.combinations([*labels, *boxes], 2):
        assert not overlap(a, b)


@settings(max_examples=5)
@given(graphs())
def test_the_same_graph_gives_the_same_places(graph: Graph) -> None:
    assert layout(graph) == layout(graph)


@settings(max_examples=10)
@given(graphs())
def test_a_fold_keeps_every_box_and_shows_each_interrupted_wire_at_two_flags(graph: Graph) -> None:
    placed = arrange(graph, {link.id: 6.0 for link in graph.links}, lambda w, h: False)
    assert set(placed.boxes) == {b.id for b in graph.boxes}
    assert set(placed.pieces) == {link.id for link in graph.links}
    interrupted = {w for w, pieces in placed.pieces.items() if len(pieces) == 2}
    assert {f.wire for f in placed.flags} == interrupted
    assert len(placed.flags) == 2 * len(interrupted)
    for flag in placed.flags:
        assert 0 <= flag.at[0] <= placed.width_mm
        assert 0 <= flag.at[1] <= placed.height_mm
