"""A quote as one JSON object. Amounts are decimal text in the currency; areas mm2, masses mg, lengths um, times min."""

from __future__ import annotations

from typing import Any

from areakit.costing.job import QuotedLayer
from areakit.costing.measured_part import MeasuredPart
from areakit.costing.prices import MetalPrice
from areakit.costing.quote import Quote
from areakit.records.codec import as_json, picked, quantity_json
from areakit.uncertainty import Measured, exact

SCHEMA = "areakit.quote/1"


def quote_json(quote: Quote, part: MeasuredPart | None = None) -> dict[str, Any]:
    """Return the whole quote; ``uncertainty`` of an amount is expanded, with coverage factor 2."""
    job = quote.job
    return {
        "schema": SCHEMA,
        "title": job.title,
        "pieces": job.pieces,
        "area": {
            "per_piece": as_json(job.area),
            "faces": part.faces if part else None,
            "faces_words": job.faces,
            "origin": job.area_words,
        },
        "layers": [_layer_json(layer) for layer in job.layers],
        "currency": quote.currency,
        "lines": [picked(line, "key", "title", "basis", "amount", "uncertainty") for line in quote.lines],
        "price": str(quote.price),
        "price_uncertainty": quote.uncertainty,
        "price_per_piece": str(quote.each),
        "metal": quantity_json(quote.metal),
        "metal_prices": [_price_json(price) for price in quote.metal_prices],
        **picked(quote, "breaks", "quoted_on", "valid_until", "flags", "asked"),
        "tax": "not included; no tax or legal advice",
        "cautions": [*job.findings, *job.cautions],
    }


def _layer_json(layer: QuotedLayer) -> dict[str, Any]:
    return {
        **picked(layer, "metal", "bath", "thickness_is", "mass"),
        "thickness": as_json(exact(layer.thickness, "m")),
        "mean_thickness": as_json(exact(layer.mean, "m")),
    }


def _price_json(price: MetalPrice) -> dict[str, Any]:
    per_gram = {name: share / 1000.0 for name, share in price.per_kg.budget.items()}
    return {
        "metal": price.metal,
        "as_written": price.text,
        "per_gram": quantity_json(
            Measured(value=price.per_kg.value / 1000.0, unit=f"{price.currency}/g", budget=per_gram)
        ),
        "dated": price.dated.isoformat(),
        "basis": price.basis,
    }
