"""Plans made for tests: squares of ten by ten, side by side."""

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10]]


def square(x=0, y=0, side=10) -> list[list[float]]:
    return [[x, y], [x + side, y], [x + side, y + side], [x, y + side]]


def part(kind="living", polygon=SQUARE, height=8, sloped=False, connected=True, ceiling=None) -> dict:
    pieces = ceiling or [(polygon, height)]
    return {
        "kind": kind,
        "polygon": polygon,
        "ceiling": [{"polygon": piece, "height": high} for piece, high in pieces],
        "sloped": sloped,
        "connected": connected,
    }


def plan(*parts: dict, grade="above", unit="ft") -> dict:
    return {"unit": unit, "levels": [{"number": 1, "name": "Ground", "grade": grade, "parts": list(parts)}]}
