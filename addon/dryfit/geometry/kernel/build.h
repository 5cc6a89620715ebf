/* Which face goes into which leaf: ranges of boxes, split by a binned surface-area heuristic (Wald 2007). */

#pragma once

#include "refit.h"
#include "tree.h"

enum { BINS = 16, DEPTH = 24 };

/* Boxes in a row, with the box of all of them and of their middles (twice over). */
typedef struct {
    int64_t start, count;
    bounds box, centres;
} range;

INLINE void add(range *r, bounds b) {
    widen(&r->box, b);
    include(&r->centres, b.low + b.high);
}

/* The free lane of a face's box carries its number. */
INLINE int32_t face_in(bounds b) {
    int32_t f;
    float x = b.low[3];
    memcpy(&f, &x, 4);
    return f;
}

static int64_t blocks(int64_t count) { return (count + WIDTH - 1) / WIDTH; }

/* Best bin boundary by the surface-area heuristic, counted in leaves; 0 where no boundary separates anything. */
static int best_boundary(const bounds *bin, const int64_t *count) {
    float right_area[BINS];
    int64_t right_count[BINS], left_count = 0;
    bounds right = NOTHING, left = NOTHING;
    int best = 0;
    float best_cost = INFINITY;
    for (int i = BINS - 1, n = 0; i > 0; i--) {
        widen(&right, bin[i]);
        n += (int)count[i];
        right_area[i] = n ? half_area(right) : 0;
        right_count[i] = n;
    }
    for (int i = 1; i < BINS; i++) {
        widen(&left, bin[i - 1]);
        left_count += count[i - 1];
        if (!left_count || !right_count[i]) {
            continue;
        }
        float cost = half_area(left) * (float)blocks(left_count) + right_area[i] * (float)blocks(right_count[i]);
        if (cost < best_cost) {
            best_cost = cost;
            best = i;
        }
    }
    return best;
}

/* Where bins lie along an axis. */
typedef struct {
    int axis;
    float origin, per_unit;
} ruler;

INLINE int bin_of(const bounds *b, ruler r) {
    int i = (int)((b->low[r.axis] + b->high[r.axis] - r.origin) * r.per_unit);
    return i < 0 ? 0 : i > BINS - 1 ? BINS - 1 : i;
}

/* Sort boxes into bins by their middles. */
static void fill_bins(const bounds *first, const bounds *last, ruler r, bounds *bin, int64_t *count) {
    for (int i = 0; i < BINS; i++) {
        bin[i] = NOTHING;
        count[i] = 0;
    }
    for (const bounds *b = first; b < last; b++) {
        int i = bin_of(b, r);
        widen(&bin[i], *b);
        count[i]++;
    }
}

/* Bring the boxes below a boundary to the front, note where middles lie, and return the first box of the others. */
static bounds *part_boxes(bounds *first, bounds *last, ruler r, int boundary, range *left, range *right) {
    while (first < last) {
        f4 middle = first->low + first->high;
        if (bin_of(first, r) < boundary) {
            include(&left->centres, middle);
            first++;
        } else {
            include(&right->centres, middle);
            bounds swap = *--last;
            *last = *first;
            *first = swap;
        }
    }
    return first;
}

/* Split a range in two, in place: by area where bins separate it, else in the middle. */
static void split(bounds *boxes, range whole, range *left, range *right, int halve) {
    f4 extent = whole.centres.high - whole.centres.low;
    int axis = extent[1] > extent[0] ? 1 : 0;
    if (extent[2] > extent[axis]) {
        axis = 2;
    }
    const ruler r = {axis, whole.centres.low[axis], (BINS - 0.01f) / extent[axis]};
    bounds bin[BINS];
    int64_t count[BINS];
    bounds *first = boxes + whole.start, *last = first + whole.count;
    int boundary = 0;
    if (extent[axis] > 0 && r.per_unit < 1e30f && !halve) {
        fill_bins(first, last, r, bin, count);
        boundary = best_boundary(bin, count);
    }
    *left = *right = (range){whole.start, 0, NOTHING, NOTHING};
    if (boundary) {
        left->count = part_boxes(first, last, r, boundary, left, right) - first;
        for (int i = 0; i < BINS; i++) {
            if (count[i]) {
                widen(i < boundary ? &left->box : &right->box, bin[i]);
            }
        }
    } else {
        left->count = blocks(whole.count) / 2 * WIDTH;
        for (int64_t i = 0; i < whole.count; i++) {
            add(i < left->count ? left : right, first[i]);
        }
    }
    right->start += left->count;
    right->count = whole.count - left->count;
}

/* Items moved to where one more fits, NULL out of memory. */
static void *with_room(void *items, int64_t count, int64_t *room, size_t size) {
    if (count < *room) {
        return items;
    }
    *room = *room * 3 / 2 + 16;
    return realloc(items, (size_t)*room * size);
}

static int64_t new_leaf(tree *t, const bounds *boxes, range r) {
    leaf *more = with_room(t->leaves, t->leaf_count, &t->leaf_room, sizeof *more);
    if (!more) {
        return -1;
    }
    t->leaves = more;
    for (int i = 0; i < WIDTH; i++) {
        more[t->leaf_count].face[i] = i < r.count ? face_in(boxes[r.start + i]) : -1;
    }
    return t->leaf_count++;
}

static int64_t new_node(tree *t) {
    node *more = with_room(t->nodes, t->node_count, &t->node_room, sizeof *more);
    if (!more) {
        return -1;
    }
    t->nodes = more;
    memset(&more[t->node_count], 0, sizeof *more);
    return t->node_count++;
}

/* Which part of a node is costliest and still too large for a leaf? -1 where all fit. */
static int widest_of(const range *part, int parts) {
    int widest = -1;
    float widest_area = -1;
    for (int i = 0; i < parts; i++) {
        float area = half_area(part[i].box);
        if (part[i].count > WIDTH && (area > widest_area || widest < 0)) {
            widest = i;
            widest_area = area;
        }
    }
    return widest;
}

/* Build the node over a range: split its costliest part until there are eight. Returns its number, -1 out of memory. */
static int64_t grow(tree *t, bounds *boxes, range whole, int depth) {
    int64_t self = new_node(t);
    if (self < 0) {
        return -1;
    }
    range part[WIDTH];
    int parts = 1;
    part[0] = whole;
    while (parts < WIDTH) {
        int widest = widest_of(part, parts);
        if (widest < 0) {
            break;
        }
        range chosen = part[widest];
        split(boxes, chosen, &part[widest], &part[parts++], depth > DEPTH);
    }
    for (int i = 0; i < parts; i++) {
        int64_t child = part[i].count > WIDTH ? grow(t, boxes, part[i], depth + 1) : new_leaf(t, boxes, part[i]);
        if (child < 0) {
            return -1;
        }
        t->nodes[self].child[i] = (int32_t)(part[i].count > WIDTH ? child : ~child);
    }
    return self;
}

/* Box every face, its number in the free lane, and return the range of all. */
static range box_faces(const tree *t, bounds *boxes) {
    range whole = {0, t->face_count, NOTHING, NOTHING};
    for (int32_t f = 0; f < t->face_count; f++) {
        bounds b = NOTHING;
        for (int i = 0; i < 3; i++) {
            include(&b, narrowed(to_unit(t, corner_of(t, f, i))));
        }
        add(&whole, b);
        memcpy((char *)&b.low + 12, &f, 4);
        boxes[f] = b;
    }
    return whole;
}

/* Build a tree over (face_count, 3) faces; NULL out of memory. */
VISIBLE tree *NAME(build)(const double *vertices, const int32_t *faces, int64_t face_count) {
    tree *t = calloc(1, sizeof *t);
    bounds *boxes = malloc((size_t)face_count * sizeof *boxes);
    if (!t || !boxes) {
        free(t);
        free(boxes);
        return NULL;
    }
    t->vertices = vertices;
    t->faces = faces;
    t->face_count = face_count;
    t->leaf_room = face_count / 6 + 16;
    t->node_room = face_count / 32 + 16;
    t->leaves = malloc((size_t)t->leaf_room * sizeof(leaf));
    t->nodes = malloc((size_t)t->node_room * sizeof(node));
    frame(t);
    range whole = box_faces(t, boxes);
    int64_t root = t->leaves && t->nodes ? grow(t, boxes, whole, 0) : -1;
    free(boxes);
    if (root < 0) {
        NAME(release)(t);
        return NULL;
    }
    NAME(refit)(t, vertices);
    return t;
}
