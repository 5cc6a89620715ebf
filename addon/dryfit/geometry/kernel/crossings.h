/* Faces that pass through each other. */

#pragma once

#include "tree.h"
#include "triangles.h"

/* Faces of one tree that cross faces of another, or, with label (one a vertex), of the same mesh. */
typedef struct {
    const tree *a, *b;
    const int32_t *label;
    int32_t *pairs;
    int64_t room, count;
} crossing;

static int share_corner(const crossing *c, int64_t f, int64_t g) {
    for (int i = 0; i < 9; i++) {
        if (c->label[c->a->faces[3 * f + i / 3]] == c->label[c->a->faces[3 * g + i % 3]]) {
            return 1;
        }
    }
    return 0;
}

/* Note the pair of face f of a and face g of b if they cross, while room lasts; counted beyond it too. */
static void test_pair(crossing *c, int32_t f, const vec own[3], int32_t g) {
    if (g < 0 || (c->label && (g <= f || share_corner(c, f, g)))) {
        return;
    }
    const vec other[3] = {corner_of(c->b, g, 0), corner_of(c->b, g, 1), corner_of(c->b, g, 2)};
    if (!cross_each_other(own, other)) {
        return;
    }
    if (c->count < c->room) {
        c->pairs[2 * c->count] = f;
        c->pairs[2 * c->count + 1] = g;
    }
    c->count++;
}

/* A triangle's box in a tree's unit ball, with a margin, eight lanes alike. */
static void box_around(const tree *t, const vec own[3], f8 low[3], f8 high[3]) {
    bounds box = NOTHING;
    float slack = 0;
    for (int i = 0; i < 3; i++) {
        vec q = to_unit(t, own[i]);
        slack = fmaxf(slack, MARGIN * (1 + (float)norm(q)));
        include(&box, narrowed(q));
    }
    for (int k = 0; k < 3; k++) {
        low[k] = all8(box.low[k] - slack);
        high[k] = all8(box.high[k] + slack);
    }
}

/* Children of a node whose boxes touch a box. */
INLINE int children_at(const node *n, const f8 low[3], const f8 high[3]) {
    i8 apart = {0};
    for (int k = 0; k < 3; k++) {
        apart |= (load8(n->box[k]) > high[k]) | (load8(n->box[3 + k]) < low[k]);
    }
    return bits8(~apart);
}

/* Triangles of a leaf whose boxes touch a box. */
INLINE int triangles_at(const leaf *l, const f8 low[3], const f8 high[3]) {
    i8 apart = {0};
    for (int k = 0; k < 3; k++) {
        f8 p = load8(l->corner[k]), e = load8(l->ab[k]), g = load8(l->ac[k]), zero = all8(0);
        apart |= (p + min8(zero, min8(e, g)) > high[k]) | (p + max8(zero, max8(e, g)) < low[k]);
    }
    return bits8(~apart);
}

/* Note what face f of a crosses. */
static void cross_face(crossing *c, int32_t f) {
    const vec own[3] = {corner_of(c->a, f, 0), corner_of(c->a, f, 1), corner_of(c->a, f, 2)};
    f8 low[3], high[3];
    box_around(c->b, own, low, high);
    int32_t stack[STACK];
    int top = 1;
    stack[0] = 0;
    while (top) {
        int32_t child = stack[--top];
        if (child >= 0) {
            const node *n = &c->b->nodes[child];
            for (int left = children_at(n, low, high); left; left &= left - 1) {
                int32_t next = n->child[lowest_bit(left)];
                if (next) {
                    stack[top++] = next;
                }
            }
            continue;
        }
        const leaf *l = &c->b->leaves[~child];
        for (int left = triangles_at(l, low, high); left; left &= left - 1) {
            test_pair(c, f, own, l->face[lowest_bit(left)]);
        }
    }
}

/* Pairs (face of a, face of b) for faces first .. last of a; returns their number, which may exceed the room. With
   label (one a vertex) both trees are one mesh: each pair once, faces that share a label left out. */
VISIBLE int64_t NAME(crossings)(const tree *a, const tree *b, int64_t first, int64_t last, const int32_t *label,
                                int32_t *pairs, int64_t room) {
    crossing c = {a, b, label, pairs, room, 0};
    for (int64_t f = first; f < last; f++) {
        cross_face(&c, (int32_t)f);
    }
    return c.count;
}
