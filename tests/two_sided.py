"""A small plate with both faces cut, for tests: an upper side, then the under side on dowels."""

from __future__ import annotations

PLATE = """
job: two sides
material: brass
plate:
  thickness: 1.6
  outline: {circle: 20}
  holes:
    dowels: {diameter: 1.0, at: [[-8, 0], [8, 1]]}
    feet: {diameter: 0.8, at: [[0, 7]], counterbore: {diameter: 1.6, depth: 0.5}, face: under}
  jewels:
    third: {diameter: 1.2, at: [[3.6, 3.2]], depth: 0.4, through: 0.8, lead-in: 1.3}
    sunk: {diameter: 1.2, at: [[-4, 4]], depth: 0.4, through: 0.8, face: under}
  pockets:
    barrel: {circle: 2.4, at: [1, -4], depth: 0.6}
    dial: {rectangle: [2.6, 2], corner: 0.6, at: [2, -4], turned: 10, depth: 0.5, face: under}
cutters:
  flat: {kind: end-mill, diameter: 3, flutes: 3, flute-length: 6, reach: 10}
  cone: {kind: spot-drill, diameter: 2.0, point-angle: 90, reach: 6}
  drill-10: {kind: drill, diameter: 1.0, flute-length: 8, reach: 10}
  drill-08: {kind: drill, diameter: 0.8, flute-length: 6, reach: 8}
  mill: {kind: end-mill, diameter: 0.8, flutes: 2, flute-length: 2.4, reach: 2.8}
setups:
  - name: train
    stock: {sheet: [30, 30], thickness: 1.9}
    holding: &glue {by: shellac on a brass carrier, carrier: brass, carrier-thickness: 6,
                    cut-into: 0.5, holds-slugs: true}
    steps:
      - face: {cutter: flat, to: 1.75}
      - pocket: {cutter: mill}
      - drill: {cutter: drill-10, holes: [dowels]}
      - drill: {cutter: drill-08, holes: [third-through, sunk-through, feet]}
      - countersink: {cutter: cone}
      - bore: {cutter: mill, holes: [third], drilled: 0.8}
      - outline: {cutter: mill}
  - name: dial
    face: under
    turned-over: about Y
    stock: {left-by: train, thickness: 1.75}
    zero: {dowel: dowels-1}
    holding: *glue
    steps:
      - face: {cutter: flat}
      - pocket: {cutter: mill}
      - bore: {cutter: mill, holes: [sunk, feet-counterbore], drilled: 0.8}
"""
