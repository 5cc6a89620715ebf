/* Which side of the surface a point is on, by the angle-weighted normal of what is nearest to it. */

#pragma once

#include "topology.h"
#include "vectors.h"

static vec face_normal(const double *vertices, const int32_t *f) {
    return unit(cross(minus(at(vertices, f[1]), at(vertices, f[0])), minus(at(vertices, f[2]), at(vertices, f[0]))));
}

/* Angle-weighted normals (Baerentzen & Aanaes 2005) of labelled vertices, not normalised. */
VISIBLE void NAME(vertex_normals)(const double *vertices, const int32_t *faces, int64_t m, const int8_t *turn,
                                  double *normals) {
    for (int64_t f = 0; f < m; f++) {
        vec p[3] = {at(vertices, faces[3 * f]), at(vertices, faces[3 * f + 1]), at(vertices, faces[3 * f + 2])};
        vec n = times(face_normal(vertices, faces + 3 * f), turn[f]);
        for (int i = 0; i < 3; i++) {
            vec e = minus(p[(i + 1) % 3], p[i]), g = minus(p[(i + 2) % 3], p[i]);
            double angle = atan2(norm(cross(e, g)), dot(e, g)), *to = normals + 3 * (int64_t)faces[3 * f + i];
            to[0] += angle * n.x;
            to[1] += angle * n.y;
            to[2] += angle * n.z;
        }
    }
}

/* What the side of a point is read from: faces over labelled corners, their neighbours and turns, normals at corners,
   and at corners of an open border the way out of the surface, else 0. */
typedef struct {
    const double *vertices;
    const int32_t *faces, *neighbour;
    const int8_t *turn;
    const double *vertex_normals, *outward;
} skin;

/* How a face, edge or corner looks: its normal, the way past an open border (else 0), and whether it has a normal at
   all. */
typedef struct {
    vec normal, out;
    double facing;
} outlook;

static vec turned_normal(const skin *s, int64_t face) {
    return times(face_normal(s->vertices, s->faces + 3 * face), s->turn[face]);
}

static outlook outlook_of(const skin *s, int64_t face, uint8_t feature) {
    if (feature >= 4) {
        int32_t v = s->faces[3 * face + feature - 4];
        vec n = unit(at(s->vertex_normals, v));
        return (outlook){n, at(s->outward, v), dot(n, n)};
    }
    vec n = turned_normal(s, face);
    outlook here = {n, {0, 0, 0}, dot(n, n)};
    if (!feature) {
        return here;
    }
    int64_t side = 3 * face + feature - 1;
    int32_t other = s->neighbour[side];
    if (other >= 0) {
        vec m = turned_normal(s, other / 3);
        here.facing *= dot(m, m);
        here.normal = unit(plus(n, m));
    } else if (other == -1) {
        vec along = minus(at(s->vertices, s->faces[next_side(side)]), at(s->vertices, s->faces[side]));
        here.out = times(unit(cross(along, n)), s->turn[face]);
    } else {
        here.facing = 0;
    }
    return here;
}

/* r: from the closest point to the point. */
static int8_t side_of(vec r, outlook here, double slant, double touch) {
    double far = norm(r), height = dot(r, here.normal);
    if (far == 0) {
        return 0;
    }
    if (dot(r, here.out) > slant * far + touch) {
        return 2;
    }
    if (!(here.facing > 0) || fabs(height) < 1e-9 * far) {
        return 3;
    }
    return height > 0 ? 1 : -1;
}

/* On which side of the surface does each point lie, from its closest point? 1 outside, -1 inside, 0 on it, 2 beyond an
   open border (more than slant = sine of the angle past its edge), 3 undecided. */
VISIBLE void NAME(sides)(const double *vertices, const int32_t *faces, const int32_t *neighbour, const int8_t *turn,
                         const double *vertex_normals, const double *outward, int64_t k, const double *points,
                         const int32_t *face, const uint8_t *feature, const double *closest_points, double slant,
                         double touch, int8_t *side) {
    const skin s = {vertices, faces, neighbour, turn, vertex_normals, outward};
    for (int64_t i = 0; i < k; i++) {
        vec r = minus(at(points, i), at(closest_points, i));
        side[i] = side_of(r, outlook_of(&s, face[i], feature[i]), slant, touch);
    }
}
