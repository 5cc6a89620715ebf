/* The closest point of any face. */

#pragma once

#include "descent.h"
#include "tree.h"
#include "triangles.h"

/* Most faces that wait for their exact test. */
enum { HELD = 48 };

/* Exact closest point of one face; the lowest face number among equals. */
INLINE void test_face(const tree *t, vec p, int32_t face, nearest *best) {
    vec corner[3];
    corners_of(t, face, p, corner);
    const nearest here = nearest_of(corner, face);
    if (here.squared > best->squared || (here.squared == best->squared && face >= best->face)) {
        return;
    }
    *best = here;
}

/* Squared distance of the origin to segment p, p + e, eight at a time. */
INLINE f8 edge8(const f8 p[3], const f8 e[3]) {
    f8 s = -dot8(p, e) / max8(dot8(e, e), all8(1e-36f));
    s = min8(max8(s, all8(0)), all8(1));
    const f8 q[3] = {fused8(s, e[0], p[0]), fused8(s, e[1], p[1]), fused8(s, e[2], p[2])};
    return dot8(q, q);
}

/* Squared distances of p to a leaf's triangles, right to within the margin: the normal is stored, not recomputed, so
   slivers lose nothing. */
INLINE f8 leaf8(const leaf *l, const f8 p[3]) {
    f8 a[3], b[3], ab[3], ac[3], bc[3], n[3], to_ab[3], to_bc[3], to_ca[3];
    for (int k = 0; k < 3; k++) {
        a[k] = load8(l->corner[k]) - p[k];
        ab[k] = load8(l->ab[k]);
        ac[k] = load8(l->ac[k]);
        n[k] = load8(l->normal[k]);
        b[k] = a[k] + ab[k];
        bc[k] = ac[k] - ab[k];
    }
    cross8(a, ab, to_ab);
    cross8(b, bc, to_bc);
    cross8(ac, a, to_ca);
    i8 inside = (dot8(n, to_ab) > 0) & (dot8(n, to_bc) > 0) & (dot8(n, to_ca) > 0);
    f8 h = dot8(a, n), edges = min8(min8(edge8(a, ab), edge8(a, ac)), edge8(b, bc)), plane = min8(h * h, edges);
    return choose8(inside, plane, edges);
}

/* A face that may be the nearest, by its squared distance in single precision. */
typedef struct {
    float squared;
    int32_t face;
} candidate;

/* A search for the nearest face: faces that may be it are tested exactly once the search is over. leaf has the nearest
   of them. */
typedef struct {
    vec p;
    candidate held[HELD];
    int count;
    float least, limit, margin;
    int32_t leaf;
    nearest best;
} search;

/* Exact tests of what is still within the limit. */
static void settle(const tree *t, search *s) {
    if (!s->count) {
        return;
    }
    for (int i = 0; i < s->count; i++) {
        if (s->held[i].squared <= s->limit) {
            test_face(t, s->p, s->held[i].face, &s->best);
        }
    }
    float most = reach(t, sqrt(s->best.squared), s->margin);
    s->limit = fminf(s->limit, most * most);
    s->count = 0;
}

/* Keep a leaf's faces that may be nearest. The nearest is off by a margin at most, and so is any other. */
INLINE void look_into(const tree *t, int32_t number, const f8 point[3], search *s) {
    const leaf *l = &t->leaves[number];
    f8 squared = leaf8(l, point);
    float here[WIDTH], least = least8(squared);
    if (least > s->limit) {
        return;
    }
    float most = sqrtf(least) * 1.000001f + 2 * s->margin;
    s->limit = fminf(s->limit, most * most);
    if (least < s->least) {
        s->least = least;
        s->leaf = number;
    }
    if (s->count > HELD - WIDTH) {
        settle(t, s);
    }
    memcpy(here, &squared, sizeof here);
    for (int left = bits8(squared <= all8(s->limit)); left; left &= left - 1) {
        int i = lowest_bit(left);
        s->held[s->count++] = (candidate){here[i], l->face[i]};
        __builtin_prefetch(t->faces + 3 * (int64_t)l->face[i]);
    }
}

/* The search starts in the leaf that held the answer before, and leaves the exact tests for later. */
static void find_candidates(const tree *t, vec p, int32_t first, search *s) {
    vec q = to_unit(t, p);
    const float x = (float)q.x, y = (float)q.y, z = (float)q.z;
    const f8 point[3] = {all8(x), all8(y), all8(z)};
    s->p = p;
    s->leaf = first;
    s->least = INFINITY;
    s->margin = MARGIN * (1 + (float)norm(q));
    s->limit = 1e30f;
    s->count = 0;
    s->best = (nearest){INFINITY, {0, 0, 0}, INT32_MAX, 0};
    look_into(t, first, point, s);
    waiting stack[STACK], next = {0, 0};
    int top = 0;
    do {
        while (next.child >= 0) {
            const node *n = &t->nodes[next.child];
            f8 squared = all8(0);
            for (int k = 0; k < 3; k++) {
                f8 here = all8(n->frame[k][0] * x + n->frame[k][1] * y + n->frame[k][2] * z);
                f8 gap = max8(max8(load8(n->tilted[k]) - here, here - load8(n->tilted[3 + k])), all8(0));
                squared = fused8(gap, gap, squared);
            }
            int marked = bits8(squared <= all8(s->limit));
            if (!marked) {
                break;
            }
            next = nearest_first(stack, &top, n->child, squared, marked);
        }
        if (next.child < 0 && ~next.child != first) {
            look_into(t, ~next.child, point, s);
        }
    } while (take(stack, &top, s->limit, &next));
}

/* Ask memory for the corners that the exact tests will need. */
INLINE void fetch_candidates(const tree *t, const search *s) {
    for (int i = 0; i < s->count; i++) {
        const int32_t *corners = t->faces + 3 * (int64_t)s->held[i].face;
        if (s->held[i].squared > s->limit) {
            continue;
        }
        for (int c = 0; c < 3; c++) {
            __builtin_prefetch(t->vertices + 3 * (int64_t)corners[c]);
        }
    }
}

/* Where answers go, a row a point. */
typedef struct {
    double *distance;
    int32_t *face;
    double *weights, *points;
    uint8_t *feature;
} answers;

INLINE void fetch_row(const double *points, const answers *to, int64_t row) {
    __builtin_prefetch(points + 3 * row);
    __builtin_prefetch(to->weights + 3 * row, 1);
    __builtin_prefetch(to->points + 3 * row, 1);
    __builtin_prefetch(to->distance + row, 1);
}

INLINE void note(const tree *t, const nearest *best, int64_t row, const answers *to) {
    vec q = {0, 0, 0};
    to->distance[row] = sqrt(best->squared);
    to->face[row] = best->face;
    to->feature[row] = best->feature;
    for (int c = 0; c < 3; c++) {
        to->weights[3 * row + c] = best->weight[c];
        q = plus(q, times(corner_of(t, best->face, c), best->weight[c]));
    }
    to->points[3 * row] = q.x;
    to->points[3 * row + 1] = q.y;
    to->points[3 * row + 2] = q.z;
}

/* Closest points of order[0 .. k). Rows of the outputs are those of the points. The exact tests of a point wait until
   the next has been searched for: by then what they read is there. */
VISIBLE void NAME(closest)(const tree *t, int64_t k, const uint32_t *order, const double *points, double *distance,
                           int32_t *face, double *weights, double *closest_points, uint8_t *feature) {
    const answers to = {distance, face, weights, closest_points, feature};
    search two[2];
    two[1].leaf = 0;
    for (int64_t i = 0; i <= k; i++) {
        search *now = &two[i % 2], *before = &two[(i + 1) % 2];
        if (i < k) {
            fetch_row(points, &to, order[i + AHEAD < k ? i + AHEAD : i]);
            find_candidates(t, at(points, order[i]), before->leaf, now);
            fetch_candidates(t, now);
        }
        if (!i) {
            continue;
        }
        settle(t, before);
        /* Beyond single precision's range, a million times a million mesh sizes away, every face is asked. */
        if (before->best.face == INT32_MAX) {
            for (int32_t f = 0; f < t->face_count; f++) {
                test_face(t, before->p, f, &before->best);
            }
        }
        note(t, &before->best, order[i - 1], &to);
    }
}
