"""A room over a design's base whose heights are given: what keeps, paints and holds it is tried without a face."""

import numpy as np

from dryfit.model.limits import Limits
from dryfit.performer.fitting import Fitting
from dryfit.report.room_values import room_values
from dryfit.report.room_words import room_sentences
from dryfit.rooms.edges import EdgeRoom
from dryfit.rooms.room import NOT_SKIN, Region, Room
from dryfit.rooms.stop import Stop
from dryfit.rooms.teeth import TeethRoom
from dryfit.sitting.room.kept_room import store_room
from dryfit.sitting.still_true.design_reading import read_design

UP, DOWN = "sight upward", "sight downward"


def room_over(design, height_mm, low_mm=1.0):
    """A room of one height where the head is above its middle, another below it, unknown at the back."""
    surface = Fitting(design.snapshot, design.brief).base_surface
    points = surface.vertices_mm
    upper, back = points[:, 2] >= 0.0, points[:, 1] > 50.0
    heights = [np.where(upper, height_mm, np.inf), np.where(upper, np.inf, low_mm)]
    stops = (
        Stop("sight_up", "sightline", UP, "sight_down_review_deg", heights[0]),
        Stop("sight_down", "sightline", DOWN, "sight_down_review_deg", heights[1]),
    )
    return Room(
        name="given", source="", vertices_mm=points, faces=np.asarray(surface.oriented_faces, dtype=np.int64),
        outward=np.array(surface.vertex_normals), room_mm=np.where(back, np.nan, np.min(heights, axis=0)),
        stopped_by=np.where(back, -1, np.where(upper, 0, 1)), stops=stops, why=np.where(back, 0, -1),
        reasons=("There is no blink.", NOT_SKIN), notes=(),
        regions=(Region("brow", low_mm, height_mm, height_mm, "sight_up", "sight_up", 0.0),),
        teeth=TeethRoom(why="There are no teeth."), edges=EdgeRoom(points, np.asarray(surface.faces), ~back, np.zeros(len(points))),
        weights=(),
    )  # fmt: skip


def keep_given_room(context, height_mm=6.0, low_mm=1.0):
    """Store such a room as the operator stores one that was measured."""
    design = read_design(context)
    room = room_over(design, height_mm, low_mm)
    values = room_values(room, Limits())
    store_room(context.scene, design.snapshot.base.name, room, values, room_sentences(room), design.prints)
    return room
