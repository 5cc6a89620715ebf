/* Distance along the surface, by fast marching (Kimmel & Sethian 1998). */

#pragma once

#include <stdlib.h>

#include "topology.h"
#include "vectors.h"

/* How the front reached a vertex. ON: a source beside another source (part of a curve). FLAT: over a triangle from a
   curve. ROUND: from one point. A front between two vertices is flat if it comes from a curve, else round. */
enum { ON, FLAT, ROUND };

/* A front on its way. corners lists the sides that begin at each vertex, those of vertex v from start[v] to start[v +
   1]. place: -1 not seen, -2 settled, else index in the heap of those that wait. */
typedef struct {
    const double *vertices;
    const int32_t *faces, *neighbour;
    int64_t *start;
    int32_t *corners, *heap, *place;
    int64_t waiting;
    double *distance;
    int32_t *source;
    uint8_t *kind;
    double limit;
} front;

static void set_place(front *w, int64_t i, int32_t v) {
    w->heap[i] = v;
    w->place[v] = (int32_t)i;
}

/* Put v into the free place i of the heap, or above. */
static void heap_up(front *w, int64_t i, int32_t v) {
    for (int64_t up; i > 0; i = up) {
        up = (i - 1) / 2;
        if (w->distance[w->heap[up]] <= w->distance[v]) {
            break;
        }
        set_place(w, i, w->heap[up]);
    }
    set_place(w, i, v);
}

static int32_t heap_pop(front *w) {
    int32_t top = w->heap[0], v = w->heap[--w->waiting];
    int64_t i = 0;
    for (int64_t down; (down = 2 * i + 1) < w->waiting; i = down) {
        if (down + 1 < w->waiting && w->distance[w->heap[down + 1]] < w->distance[w->heap[down]]) {
            down++;
        }
        if (w->distance[w->heap[down]] >= w->distance[v]) {
            break;
        }
        set_place(w, i, w->heap[down]);
    }
    set_place(w, i, v);
    w->place[top] = -2;
    return top;
}

static void offer(front *w, int32_t v, double distance, int32_t source, uint8_t kind) {
    if (w->place[v] == -2 || distance >= w->distance[v] || distance > w->limit) {
        return;
    }
    w->distance[v] = distance;
    w->source[v] = source;
    w->kind[v] = kind;
    heap_up(w, w->place[v] == -1 ? w->waiting++ : w->place[v], v);
}

/* Let the front cross segment a b (b at length along the first axis from a) to vertex v at (x, y), y > 0. */
static void cross_segment(front *w, int32_t a, int32_t b, double length, int32_t v, double x, double y) {
    double da = w->distance[a], db = w->distance[b], slope = (db - da) / length;
    if (!(fabs(slope) < 1)) {
        return;
    }
    int round = (w->kind[a] == ROUND || w->kind[b] == ROUND) && w->kind[a] != FLAT && w->kind[b] != FLAT;
    double arrival, meet;
    if (round) {
        double sx = (da * da - db * db + length * length) / (2 * length), sy = sqrt(fmax(0, da * da - sx * sx));
        meet = sx + (x - sx) * sy / (sy + y);
        arrival = hypot(x - sx, y + sy);
    } else {
        double steep = sqrt(1 - slope * slope);
        meet = x - y * slope / steep;
        arrival = da + slope * x + steep * y;
    }
    if (meet < 0 || meet > length || arrival < fmax(da, db)) {
        return;
    }
    offer(w, v, arrival, w->source[2 * meet < length ? a : b], round ? ROUND : FLAT);
}

/* Where c lies in the plane of a (origin) and b (on the first axis): x along, y across. */
static void place_corner(vec a, vec b, vec c, double *x, double *y) {
    vec ab = unit(minus(b, a)), ac = minus(c, a);
    *x = dot(ab, ac);
    *y = norm(minus(ac, times(ab, *x)));
}

/* Corner v of side s's face is obtuse: unfold faces beyond s until a vertex lies where it splits the corner, and let
   the front cross from there (Kimmel & Sethian 1998). */
static void unfold(front *w, int32_t a, int32_t b, int64_t s, double length, int32_t v, double x, double y) {
    const vec ends[2] = {{0, 0, 0}, {length, 0, 0}}, here = {x, y, 0};
    const int32_t names[2] = {a, b};
    vec pa = ends[0], pb = ends[1];
    for (int step = 0; step < 16 && w->neighbour[s] >= 0; step++) {
        int64_t over = w->neighbour[s], next = next_side(over);
        int32_t c = w->faces[next_side(next)];
        double along, across;
        place_corner(at(w->vertices, a), at(w->vertices, b), at(w->vertices, c), &along, &across);
        vec e = unit(minus(pb, pa)), pc = plus(pa, plus(times(e, along), (vec){e.y * across, -e.x * across, 0}));
        double from_a = dot(minus(ends[0], here), minus(pc, here)), from_b = dot(minus(ends[1], here), minus(pc, here));
        if (from_a > 0 && from_b > 0) {
            if (w->place[c] != -2) {
                return;
            }
            offer(w, v, w->distance[c] + norm(minus(pc, here)), w->source[c], w->kind[c] == ON ? ROUND : w->kind[c]);
            for (int i = 0; i < 2; i++) {
                if (w->place[names[i]] != -2) {
                    continue;
                }
                place_corner(ends[i], pc, here, &along, &across);
                cross_segment(w, names[i], c, norm(minus(pc, ends[i])), v, along, across);
            }
            return;
        }
        s = (w->faces[next] == (from_a > 0 ? b : a)) ? next : next_side(next);
        if (from_a > 0) {
            a = c;
            pa = pc;
        } else {
            b = c;
            pb = pc;
        }
    }
}

/* The front has settled at a: pass it on to corner v of the face whose third corner is b; s is the side a b. */
static void pass_on(front *w, int32_t a, int32_t b, int64_t s, int32_t v) {
    vec pa = at(w->vertices, a), pb = at(w->vertices, b), pv = at(w->vertices, v);
    double length = norm(minus(pb, pa)), x, y;
    offer(w, v, w->distance[a] + norm(minus(pv, pa)), w->source[a], w->kind[a] == ON ? ROUND : w->kind[a]);
    if (!(length > 0) || w->place[v] == -2) {
        return;
    }
    place_corner(pa, pb, pv, &x, &y);
    if (w->place[b] == -2) {
        cross_segment(w, a, b, length, v, x, y);
    }
    if (dot(minus(pa, pv), minus(pb, pv)) < 0) {
        unfold(w, a, b, s, length, v, x, y);
    }
}

static int find_corners(front *w, int64_t n, int64_t m) {
    w->start = calloc((size_t)n + 2, sizeof *w->start);
    w->corners = malloc((size_t)m * 3 * sizeof *w->corners + 1);
    w->heap = malloc((size_t)n * 2 * sizeof *w->heap + 1);
    w->kind = calloc((size_t)n + 1, 1);
    if (!w->start || !w->corners || !w->heap || !w->kind) {
        return -1;
    }
    w->place = w->heap + n;
    for (int64_t s = 0; s < 3 * m; s++) {
        w->start[w->faces[s] + 2]++;
    }
    for (int64_t i = 0; i < n; i++) {
        w->start[i + 2] += w->start[i + 1];
    }
    for (int64_t s = 0; s < 3 * m; s++) {
        w->corners[w->start[w->faces[s] + 1]++] = (int32_t)s;
    }
    for (int64_t i = 0; i < n; i++) {
        w->place[i] = -1;
        w->distance[i] = INFINITY;
        w->source[i] = -1;
    }
    return 0;
}

/* Fast marching (Kimmel & Sethian 1998) from sources with given distances to the limit. source receives indices into
   sources. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(march)(const double *vertices, int64_t n, const int32_t *faces, const int32_t *neighbour,
                            int64_t m, const int32_t *sources, const double *source_distance, int64_t count,
                            double limit, double *distance, int32_t *source) {
    front w = {vertices, faces, neighbour, 0, 0, 0, 0, 0, distance, source, 0, limit};
    int32_t status = find_corners(&w, n, m);
    if (!status) {
        for (int64_t i = 0; i < count; i++) {
            offer(&w, sources[i], source_distance[i], (int32_t)i, ROUND);
        }
        for (int64_t s = 0; s < 3 * m; s++) {
            if (source[faces[s]] >= 0 && source[faces[next_side(s)]] >= 0 && faces[s] != faces[next_side(s)]) {
                w.kind[faces[s]] = ON;
                w.kind[faces[next_side(s)]] = ON;
            }
        }
        while (w.waiting) {
            int32_t a = heap_pop(&w);
            for (int64_t i = w.start[a]; i < w.start[a + 1]; i++) {
                int64_t s = w.corners[i], next = next_side(s), last = next_side(next);
                pass_on(&w, a, faces[next], s, faces[last]);
                pass_on(&w, a, faces[last], last, faces[next]);
            }
        }
    }
    free(w.start);
    free(w.corners);
    free(w.heap);
    free(w.kind);
    return status;
}
