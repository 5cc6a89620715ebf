/* The winding number: exact near by, dipoles far away (Barill et al. 2018). */

#pragma once

#include "tree.h"
#include "triangles.h"

/* Add one face to a dipole; the centre is weighted by area until all are in. */
static void add_face(const tree *t, int32_t face, const int8_t *turn, moment *m) {
    vec a = corner_of(t, face, 0), b = corner_of(t, face, 1), c = corner_of(t, face, 2);
    vec n = times(cross(minus(b, a), minus(c, a)), 0.5);
    double area = norm(n);
    m->normal = plus(m->normal, times(n, turn[face]));
    m->centre = plus(m->centre, times(plus(a, plus(b, c)), area / 3));
    m->area += area;
}

/* The dipole of a node from its children's and its faces'. */
static moment moment_of(const tree *t, const node *n, const int8_t *turn) {
    moment sum = {{0, 0, 0}, {0, 0, 0}, 0, 0};
    for (int k = 0; k < WIDTH; k++) {
        if (n->child[k] > 0) {
            const moment *m = &t->moments[n->child[k]];
            sum.normal = plus(sum.normal, m->normal);
            sum.area += m->area;
            sum.centre = plus(sum.centre, times(m->centre, m->area));
        } else if (n->child[k] < 0) {
            const int32_t *face = t->leaves[~n->child[k]].face;
            for (int j = 0; j < WIDTH && face[j] >= 0; j++) {
                add_face(t, face[j], turn, &sum);
            }
        }
    }
    bounds box = box_of(n);
    vec low = from_unit(t, box.low), high = from_unit(t, box.high);
    sum.centre = sum.area > 0 ? times(sum.centre, 1 / sum.area) : low;
    sum.radius = norm(upper(minus(sum.centre, low), minus(high, sum.centre)));
    return sum;
}

/* One dipole a node, from faces turned by +-1. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(moments)(tree *t, const int8_t *turn) {
    if (!t->moments) {
        t->moments = malloc((size_t)t->node_count * sizeof(moment));
    }
    if (!t->moments) {
        return -1;
    }
    for (int64_t i = t->node_count - 1; i >= 0; i--) {
        t->moments[i] = moment_of(t, &t->nodes[i], turn);
    }
    return 0;
}

/* Add a leaf's faces to a winding number, one by one and exactly. */
INLINE double with_leaf(const tree *t, const leaf *l, vec p, const int8_t *turn, double sum) {
    for (int j = 0; j < WIDTH && l->face[j] >= 0; j++) {
        vec corner[3];
        corners_of(t, l->face[j], p, corner);
        sum += turn[l->face[j]] * winding_of(corner);
    }
    return sum;
}

/* What lies three radii away counts as its dipole. */
static double winding_at(const tree *t, vec p, const int8_t *turn) {
    int32_t stack[STACK];
    int top = 1;
    double sum = 0;
    stack[0] = 0;
    while (top) {
        int32_t child = stack[--top];
        if (child < 0) {
            sum = with_leaf(t, &t->leaves[~child], p, turn, sum);
            continue;
        }
        const moment *m = &t->moments[child];
        vec to = minus(m->centre, p);
        double distance = norm(to);
        if (distance > 3 * m->radius) {
            sum += dot(m->normal, to) / (4 * PI * distance * distance * distance);
            continue;
        }
        for (int j = 0; j < WIDTH; j++) {
            if (t->nodes[child].child[j]) {
                stack[top++] = t->nodes[child].child[j];
            }
        }
    }
    return sum;
}

/* Winding numbers of k points; the moments stand already. */
VISIBLE void NAME(winding)(const tree *t, int64_t k, const double *points, const int8_t *turn, double *winding) {
    for (int64_t i = 0; i < k; i++) {
        winding[i] = winding_at(t, at(points, i), turn);
    }
}
