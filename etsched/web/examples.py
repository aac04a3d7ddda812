"""Examples in the OpenAPI document: requests that a test sends and whose answers it holds against the document."""

from __future__ import annotations

from typing import Any

# By operation (method and path): what is sent.
EXAMPLES: dict[tuple[str, str], dict[str, Any]] = {
    ("put", "/v1/sites/{site}"): {
        "document": "# the whole site file, as `etsched new-site` writes one to start from\n"
        'name = "Quillmere Green"\n[place]\nlatitude = 39.5\nlongitude = -105.0\nelevation = "5250 ft"\n'
        'time_zone = "America/Denver"\n[watering]\nopens = "22:00"\ncloses = "06:00"\nwater_days = "every day"\n'
        '[[station]]\nterminal = 1\narea = "Front lawn"\nhead = "spray"\nturf = "cool-season"\nsoil = "loam"\n'
    },
    ("post", "/v1/sites/{site}/applied"): {
        "runs": [
            {
                "report": "2026-07-13-1",
                "terminal": 1,
                "opens_on": "2026-07-13",
                "minutes": 11.0,
                "how": "program",
                "began": "2026-07-14T12:02:00Z",
            }
        ],
        "nights_whole": ["2026-07-13"],
    },
    ("post", "/v1/sites/{site}/keyed-in"): {"since": "2026-07-13", "plan_revision": 1},
    ("post", "/v1/sites/{site}/heat-check"): {"hotter_c": 4.5, "days": 5},
    ("post", "/v1/sites/{site}/webhooks"): {"url": "https://events.example.org/watering"},
    ("post", "/v1/sites/{site}/visits"): {"document": "date = 2026-07-12\ntechnician = \"J. Rook\"\n"},
}


def with_examples(document: dict[str, Any]) -> dict[str, Any]:
    """Put the examples where readers and programs look for them."""
    for (method, path), example in EXAMPLES.items():
        content = document["paths"][path][method]["requestBody"]["content"]["application/json"]
        content["example"] = example
    return document
