/* Closest points, ray hits, crossing faces, winding numbers, and distances along a triangle mesh.

   One tree serves all: eight children a node, eight triangles a leaf, chosen by a binned surface-area heuristic
   (Wald 2007). Boxes and leaf triangles are single precision, centred and scaled to the unit ball; every cull
   carries a margin derived from the coordinates' magnitude, and whatever survives is tested again in double precision
   on the caller's own vertices. So an answer never depends on the tree, on the order of the queries, or on the bound
   a query starts from: the nearest face wins, the lowest face number among equals.

   No threads, no global state; the caller's arrays must outlive the index that was built on them. */

#include <stdlib.h>
#include <string.h>

#include "triangles.h"

#if !defined(LEVEL_AVX2)
/* Changes whenever a signature below does: a stale binary is recognised and left alone. */
VISIBLE int32_t dryfit_interface(void) { return 1; }
#endif

/* ---- the tree ---------------------------------------------------------------------------------------------- */

enum { WIDTH = 8, BINS = 16, DEPTH = 24, STACK = 8 * 64, AHEAD = 6, HELD = 48, PROBES = 4096 };
#define MARGIN (32.0f * 0x1p-24f) /* of the unit ball: rounding of box, point and arithmetic, with room to spare */

/* child: 0 none, > 0 node, < 0 leaf ~child. box along the world's axes, for rays; tilted along the node's own frame, whose
   third axis is its mean normal: thin where the surface is flat, so a closest point looks into few leaves. */
typedef struct {
    float box[6][WIDTH], tilted[6][WIDTH], frame[3][3]; int32_t child[WIDTH];
} node;
typedef struct { float corner[3][WIDTH], ab[3][WIDTH], ac[3][WIDTH], normal[3][WIDTH]; int32_t face[WIDTH]; } leaf;
typedef struct { vec centre, normal; double area, radius; } moment;

typedef struct {
    const double *vertices; const int32_t *faces;
    int64_t face_count, node_count, leaf_count, node_room, leaf_room;
    vec centre; double scale;
    node *nodes; leaf *leaves; moment *moments;
} tree;

INLINE vec corner_of(const tree *t, int32_t face, int i) { return at(t->vertices, t->faces[3 * (int64_t)face + i]); }
/* A face's corners as seen from p. */
INLINE void corners_of(const tree *t, int32_t face, vec p, vec corner[3]) {
    for (int i = 0; i < 3; i++) corner[i] = minus(corner_of(t, face, i), p);
}
INLINE vec to_unit(const tree *t, vec p) { return times(minus(p, t->centre), t->scale); }
INLINE vec from_unit(const tree *t, f4 p) { return plus(times(widened(p), 1 / t->scale), t->centre); }

/* Choose centre and a power-of-two scale that bring the faces' corners into the unit ball. */
static void frame(tree *t) {
    span all = NOWHERE;
    for (int64_t i = 0; i < 3 * t->face_count; i++) stretch(&all, at(t->vertices, t->faces[i]));
    t->centre = times(plus(all.low, all.high), 0.5);
    int exponent = 0;
    frexp(norm(minus(all.high, all.low)) * 0.5, &exponent);
    t->scale = ldexp(1.0, -exponent);
}

typedef struct { int64_t start, count; bounds box, centres; } range;

INLINE void add(range *r, bounds b) { widen(&r->box, b); include(&r->centres, b.low + b.high); }

/* The free lane of a face's box carries its number. */
INLINE int32_t face_in(bounds b) { int32_t f; float x = b.low[3]; memcpy(&f, &x, 4); return f; }

static int64_t blocks(int64_t count) { return (count + WIDTH - 1) / WIDTH; }

/* Best bin boundary by the surface-area heuristic, counted in leaves; 0 where no boundary separates anything. */
static int best_boundary(const bounds *bin, const int64_t *count) {
    float right_area[BINS]; int64_t right_count[BINS], left_count = 0;
    bounds right = NOTHING, left = NOTHING;
    int best = 0; float best_cost = INFINITY;
    for (int i = BINS - 1, n = 0; i > 0; i--) {
        widen(&right, bin[i]); n += (int)count[i];
        right_area[i] = n ? half_area(right) : 0; right_count[i] = n;
    }
    for (int i = 1; i < BINS; i++) {
        widen(&left, bin[i - 1]); left_count += count[i - 1];
        if (!left_count || !right_count[i]) continue;
        float cost = half_area(left) * (float)blocks(left_count) + right_area[i] * (float)blocks(right_count[i]);
        if (cost < best_cost) { best_cost = cost; best = i; }
    }
    return best;
}

typedef struct { int axis; float origin, per_unit; } ruler;

INLINE int bin_of(const bounds *b, ruler r) {
    int i = (int)((b->low[r.axis] + b->high[r.axis] - r.origin) * r.per_unit);
    return i < 0 ? 0 : i > BINS - 1 ? BINS - 1 : i;
}

/* Split a range in two, in place: by area where bins separate it, else in the middle. */
static void split(bounds *boxes, range whole, range *left, range *right, int halve) {
    f4 extent = whole.centres.high - whole.centres.low;
    int axis = extent[1] > extent[0] ? 1 : 0;
    if (extent[2] > extent[axis]) axis = 2;
    const ruler r = {axis, whole.centres.low[axis], (BINS - 0.01f) / extent[axis]};
    bounds bin[BINS]; int64_t count[BINS] = {0};
    bounds *first = boxes + whole.start, *last = first + whole.count;
    int boundary = 0;
    if (extent[axis] > 0 && r.per_unit < 1e30f && !halve) {
        for (int i = 0; i < BINS; i++) bin[i] = NOTHING;
        for (bounds *b = first; b < last; b++) {
            int i = bin_of(b, r);
            widen(&bin[i], *b);
            count[i]++;
        }
        boundary = best_boundary(bin, count);
    }
    *left = *right = (range){whole.start, 0, NOTHING, NOTHING};
    if (boundary) {
        while (first < last) {
            f4 middle = first->low + first->high;
            if (bin_of(first, r) < boundary) { include(&left->centres, middle); first++; }
            else { include(&right->centres, middle); bounds swap = *--last; *last = *first; *first = swap; }
        }
        left->count = first - (boxes + whole.start);
        for (int i = 0; i < BINS; i++) if (count[i]) widen(i < boundary ? &left->box : &right->box, bin[i]);
    } else {
        left->count = blocks(whole.count) / 2 * WIDTH;
        for (int64_t i = 0; i < whole.count; i++) add(i < left->count ? left : right, first[i]);
    }
    right->start += left->count;
    right->count = whole.count - left->count;
}

/* Items moved to where one more fits, NULL out of memory. */
static void *with_room(void *items, int64_t count, int64_t *room, size_t size) {
    if (count < *room) return items;
    *room = *room * 3 / 2 + 16;
    return realloc(items, (size_t)*room * size);
}

static int64_t new_leaf(tree *t, const bounds *boxes, range r) {
    leaf *more = with_room(t->leaves, t->leaf_count, &t->leaf_room, sizeof *more);
    if (!more) return -1;
    t->leaves = more;
    for (int i = 0; i < WIDTH; i++) more[t->leaf_count].face[i] = i < r.count ? face_in(boxes[r.start + i]) : -1;
    return t->leaf_count++;
}

static int64_t new_node(tree *t) {
    node *more = with_room(t->nodes, t->node_count, &t->node_room, sizeof *more);
    if (!more) return -1;
    t->nodes = more;
    memset(&more[t->node_count], 0, sizeof *more);
    return t->node_count++;
}

/* Build the node over a range: split its costliest part until there are eight. Returns its number, -1 out of memory. */
static int64_t grow(tree *t, bounds *boxes, range whole, int depth) {
    int64_t self = new_node(t);
    if (self < 0) return -1;
    range part[WIDTH]; int parts = 1;
    part[0] = whole;
    while (parts < WIDTH) {
        int widest = -1; float widest_area = -1;
        for (int i = 0; i < parts; i++) {
            float area = half_area(part[i].box);
            if (part[i].count > WIDTH && (area > widest_area || widest < 0)) { widest = i; widest_area = area; }
        }
        if (widest < 0) break;
        range chosen = part[widest];
        split(boxes, chosen, &part[widest], &part[parts++], depth > DEPTH);
    }
    for (int i = 0; i < parts; i++) {
        int64_t child = part[i].count > WIDTH ? grow(t, boxes, part[i], depth + 1) : new_leaf(t, boxes, part[i]);
        if (child < 0) return -1;
        t->nodes[self].child[i] = (int32_t)(part[i].count > WIDTH ? child : ~child);
    }
    return self;
}

static void set_lane(float rows[][WIDTH], int lane, f4 v) { for (int i = 0; i < 3; i++) rows[i][lane] = v[i]; }

/* Fill a leaf's lanes from the vertices, return its box and add its faces' normals; unused lanes lie at infinity. */
static bounds fill_leaf(const tree *t, leaf *l, vec *normal) {
    bounds box = NOTHING;
    for (int i = 0; i < WIDTH; i++) {
        vec a = {1e18, 1e18, 1e18}, ab = {0, 0, 0}, ac = ab, n = ab;
        if (l->face[i] >= 0) {
            a = to_unit(t, corner_of(t, l->face[i], 0));
            vec b = to_unit(t, corner_of(t, l->face[i], 1)), c = to_unit(t, corner_of(t, l->face[i], 2));
            ab = minus(b, a);
            ac = minus(c, a);
            n = cross(ab, ac);
            *normal = plus(*normal, n);
            include(&box, narrowed(a));
            include(&box, narrowed(b));
            include(&box, narrowed(c));
        }
        set_lane(l->corner, i, narrowed(a));
        set_lane(l->ab, i, narrowed(ab));
        set_lane(l->ac, i, narrowed(ac));
        set_lane(l->normal, i, narrowed(unit(n)));
    }
    return box;
}

static bounds box_of(const node *n) {
    bounds all = NOTHING;
    for (int i = 0; i < WIDTH && n->child[i]; i++) {
        include(&all, (f4){n->box[0][i], n->box[1][i], n->box[2][i], 0});
        include(&all, (f4){n->box[3][i], n->box[4][i], n->box[5][i], 0});
    }
    return all;
}

/* Third axis along n; the first in the plane of the world axis least along it, so that splits along world axes stay
   aligned. */
static void set_frame(node *node, vec n) {
    n = norm(n) > 0 ? unit(n) : (vec){0, 0, 1};
    double x = fabs(n.x), y = fabs(n.y), z = fabs(n.z);
    vec aside = x <= y && x <= z ? (vec){1, 0, 0} : y <= z ? (vec){0, 1, 0} : (vec){0, 0, 1};
    vec t = unit(minus(aside, times(n, dot(aside, n)))), u = cross(n, t);
    const f4 axes[3] = {narrowed(t), narrowed(u), narrowed(n)};
    for (int i = 0; i < 9; i++) node->frame[i / 3][i % 3] = axes[i / 3][i % 3];
}

/* Widen low and high to hold a leaf's triangles in a frame, eight at a time. */
INLINE void tilt_leaf(const leaf *l, const float frame[3][3], f8 low[3], f8 high[3]) {
    f8 a[3], b[3], c[3];
    for (int k = 0; k < 3; k++) {
        a[k] = load8(l->corner[k]);
        b[k] = a[k] + load8(l->ab[k]);
        c[k] = a[k] + load8(l->ac[k]);
    }
    const i8 used = whole8(l->face) >= 0;
    for (int k = 0; k < 3; k++) {
        const f8 axis[3] = {all8(frame[k][0]), all8(frame[k][1]), all8(frame[k][2])};
        f8 x = dot8(axis, a), y = dot8(axis, b), z = dot8(axis, c);
        low[k] = choose8(used, min8(low[k], min8(x, min8(y, z))), low[k]);
        high[k] = choose8(used, max8(high[k], max8(x, max8(y, z))), high[k]);
    }
}

/* Box in a frame around all triangles below a child: as tight as can be, which a box around boxes is not. */
static void tilt(const tree *t, int32_t child, const float frame[3][3], f8 low[3], f8 high[3]) {
    if (child < 0) { tilt_leaf(&t->leaves[~child], frame, low, high); return; }
    const node *n = &t->nodes[child];
    for (int i = 0; i < WIDTH; i++) if (n->child[i]) tilt(t, n->child[i], frame, low, high);
}

/* Recompute every box, frame and leaf from the vertices, children before parents. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(refit)(tree *t, const double *vertices) {
    vec *normals = malloc((size_t)t->node_count * sizeof *normals);
    if (!normals) return -1;
    t->vertices = vertices;
    frame(t);
    for (int64_t i = t->node_count - 1; i >= 0; i--) {
        node *n = &t->nodes[i];
        vec normal = {0, 0, 0};
        for (int k = 0; k < WIDTH; k++) {
            int32_t child = n->child[k];
            if (child > 0) normal = plus(normal, normals[child]);
            bounds box = child > 0 ? box_of(&t->nodes[child]) : NOTHING;
            if (child < 0) box = fill_leaf(t, &t->leaves[~child], &normal);
            set_lane(n->box, k, box.low);
            set_lane(n->box + 3, k, box.high);
        }
        normals[i] = normal;
        set_frame(n, normal);
        for (int k = 0; k < WIDTH; k++) {
            int32_t child = n->child[k];
            f8 low[3] = {all8(INFINITY), all8(INFINITY), all8(INFINITY)};
            f8 high[3] = {all8(-INFINITY), all8(-INFINITY), all8(-INFINITY)};
            if (child) tilt(t, child, n->frame, low, high);
            for (int axis = 0; axis < 3; axis++) {
                n->tilted[axis][k] = least8(low[axis]);
                n->tilted[3 + axis][k] = most8(high[axis]);
            }
        }
    }
    free(normals);
    return 0;
}

VISIBLE void NAME(release)(tree *t) {
    if (!t) return;
    free(t->nodes); free(t->leaves); free(t->moments); free(t);
}

/* Build a tree over (face_count, 3) faces; NULL out of memory. */
VISIBLE tree *NAME(build)(const double *vertices, const int32_t *faces, int64_t face_count) {
    tree *t = calloc(1, sizeof *t);
    bounds *boxes = malloc((size_t)face_count * sizeof *boxes);
    if (!t || !boxes) { free(t); free(boxes); return NULL; }
    t->vertices = vertices; t->faces = faces; t->face_count = face_count;
    t->leaf_room = face_count / 6 + 16; t->node_room = face_count / 32 + 16;
    t->leaves = malloc((size_t)t->leaf_room * sizeof(leaf));
    t->nodes = malloc((size_t)t->node_room * sizeof(node));
    frame(t);
    range whole = {0, face_count, NOTHING, NOTHING};
    for (int32_t f = 0; f < face_count; f++) {
        bounds b = NOTHING;
        for (int i = 0; i < 3; i++) include(&b, narrowed(to_unit(t, corner_of(t, f, i))));
        add(&whole, b);
        memcpy((char *)&b.low + 12, &f, 4);
        boxes[f] = b;
    }
    int64_t root = t->leaves && t->nodes ? grow(t, boxes, whole, 0) : -1;
    free(boxes);
    if (root >= 0 && !NAME(refit)(t, vertices)) return t;
    NAME(release)(t);
    return NULL;
}

VISIBLE int64_t NAME(bytes)(const tree *t) {
    return (int64_t)sizeof *t + t->node_room * (int64_t)sizeof(node) + t->leaf_room * (int64_t)sizeof(leaf)
           + (t->moments ? t->node_count * (int64_t)sizeof(moment) : 0);
}

/* ---- queries in the order of space -------------------------------------------------------------------------- */

INLINE uint64_t spread(double coordinate) { /* in the unit ball, as 11 bits with two zeros between each */
    uint64_t x = (uint64_t)clamp((coordinate + 1.1) * 930, 0, 2047);
    x = (x | x << 32) & 0x1f00000000ffffull; x = (x | x << 16) & 0x1f0000ff0000ffull;
    x = (x | x << 8) & 0x100f00f00f00f00full; x = (x | x << 4) & 0x10c30c30c30c30c3ull;
    return (x | x << 2) & 0x1249249249249249ull;
}

INLINE uint64_t cell(const tree *t, vec p) {
    p = to_unit(t, p);
    return spread(p.x) | spread(p.y) << 1 | spread(p.z) << 2;
}

/* With directions, each ray stands for its point nearest the mesh's middle: rays from one eye and rays from one surface
   both fall into place. */
INLINE vec standing(const tree *t, const double *points, const double *directions, int64_t i) {
    vec p = at(points, i);
    if (!directions) return p;
    vec d = unit(at(directions, i));
    return plus(p, times(d, fmax(0, dot(minus(t->centre, p), d))));
}

/* Do most queries follow their neighbours already, as a grid's rows or a mesh's vertices do? Their mean step is then a
   few times the extent over the square root of their number. */
static int in_order(const tree *t, int64_t k, const double *points, const double *directions) {
    span all = NOWHERE;
    double steps = 0; int64_t stride = k / PROBES + 1, count = 0;
    for (int64_t i = 0; i + 1 < k; i += stride, count++) {
        vec p = standing(t, points, directions, i), q = standing(t, points, directions, i + 1);
        stretch(&all, p);
        steps += norm(minus(q, p));
    }
    return !count || steps / (double)count * sqrt((double)k) < 2 * norm(minus(all.high, all.low));
}

/* Order of k points along a Morton curve, or their own where that is as good. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(order)(const tree *t, int64_t k, const double *points, const double *directions, uint32_t *order) {
    if (in_order(t, k, points, directions)) {
        for (int64_t i = 0; i < k; i++) order[i] = (uint32_t)i;
        return 0;
    }
    uint64_t *keys = malloc((size_t)k * 2 * sizeof *keys), *other = keys + k;
    if (!keys) return k ? -1 : 0;
    for (int64_t i = 0; i < k; i++) keys[i] = cell(t, standing(t, points, directions, i)) << 31 | (uint64_t)i;
    for (int shift = 31; shift < 64; shift += 11) {
        size_t start[2049] = {0};
        for (int64_t i = 0; i < k; i++) start[(keys[i] >> shift & 2047) + 1]++;
        for (int i = 0; i < 2048; i++) start[i + 1] += start[i];
        for (int64_t i = 0; i < k; i++) other[start[keys[i] >> shift & 2047]++] = keys[i];
        uint64_t *swap = keys; keys = other; other = swap;
    }
    for (int64_t i = 0; i < k; i++) order[i] = (uint32_t)(keys[i] & 0x7fffffff);
    free(keys < other ? keys : other);
    return 0;
}

/* ---- closest point ------------------------------------------------------------------------------------------ */

/* Exact closest point of one face; the lowest face number among equals. */
INLINE void test_face(const tree *t, vec p, int32_t face, nearest *best) {
    vec corner[3];
    corners_of(t, face, p, corner);
    const nearest here = nearest_of(corner, face);
    if (here.squared > best->squared || (here.squared == best->squared && face >= best->face)) return;
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
        a[k] = load8(l->corner[k]) - p[k]; ab[k] = load8(l->ab[k]); ac[k] = load8(l->ac[k]); n[k] = load8(l->normal[k]);
        b[k] = a[k] + ab[k]; bc[k] = ac[k] - ab[k];
    }
    cross8(a, ab, to_ab); cross8(b, bc, to_bc); cross8(ac, a, to_ca);
    i8 inside = (dot8(n, to_ab) > 0) & (dot8(n, to_bc) > 0) & (dot8(n, to_ca) > 0);
    f8 h = dot8(a, n), edges = min8(min8(edge8(a, ab), edge8(a, ac)), edge8(b, bc)), plane = min8(h * h, edges);
    return choose8(inside, plane, edges);
}

typedef struct { float key; int32_t child; } waiting;

/* Push the marked children but the nearest, which is returned. The first descent makes the bound good enough that the
   order of the others does not pay for sorting them. */
INLINE waiting nearest_first(waiting *stack, int *top, const int32_t *child, f8 keys, int marked) {
    int i = __builtin_ctz((unsigned)marked), last = *top;
    waiting nearest = {keys[i], child[i]};
    float key[WIDTH];
    marked &= marked - 1;
    if (!marked) return nearest;
    memcpy(key, &keys, sizeof key);
    EACH_LANE(other, marked) {
        const waiting next = {key[other], child[other]};
        int nearer = next.key < nearest.key;
        stack[last++] = nearer ? nearest : next;
        nearest = nearer ? next : nearest;
    }
    *top = last;
    return nearest;
}

/* Take the last pushed of those within the limit; 0 where none is left. */
INLINE int take(const waiting *stack, int *top, float limit, waiting *next) {
    while (*top) {
        *next = stack[--*top];
        if (!(next->key > limit)) return 1;
    }
    return 0;
}

/* A length as the tree has it, rounded up and with a margin. */
INLINE float reach(const tree *t, double length, float margin) {
    double scaled = length * t->scale;
    return scaled < 1e15 ? (float)scaled * 1.000001f + margin : 1e15f;
}

/* Faces that may be the nearest, by their distance in single precision; tested exactly once the search is over. leaf
   has the nearest of them. */
typedef struct { float squared; int32_t face; } candidate;
typedef struct {
    vec p; candidate held[HELD]; int count; float least, limit, margin; int32_t leaf; nearest best;
} search;

/* Exact tests of what is still within the limit. */
static void settle(const tree *t, search *s) {
    if (!s->count) return;
    for (int i = 0; i < s->count; i++)
        if (s->held[i].squared <= s->limit) test_face(t, s->p, s->held[i].face, &s->best);
    float most = reach(t, sqrt(s->best.squared), s->margin);
    s->limit = fminf(s->limit, most * most);
    s->count = 0;
}

/* Keep a leaf's faces that may be nearest. The nearest is off by a margin at most, and so is any other. */
INLINE void look_into(const tree *t, int32_t number, const f8 point[3], search *s) {
    const leaf *l = &t->leaves[number];
    f8 squared = leaf8(l, point);
    float here[WIDTH], least = least8(squared);
    if (least > s->limit) return;
    float most = sqrtf(least) * 1.000001f + 2 * s->margin;
    s->limit = fminf(s->limit, most * most);
    if (least < s->least) {
        s->least = least;
        s->leaf = number;
    }
    if (s->count > HELD - WIDTH) settle(t, s);
    memcpy(here, &squared, sizeof here);
    EACH_LANE(i, bits8(squared <= all8(s->limit))) {
        s->held[s->count++] = (candidate){here[i], l->face[i]};
        __builtin_prefetch(t->faces + 3 * (int64_t)l->face[i]);
    }
}

/* The search starts in the leaf that held the answer before, and leaves the exact tests for later. */
static void find_candidates(const tree *t, vec p, int32_t first, search *s) {
    vec q = to_unit(t, p);
    const float x = (float)q.x, y = (float)q.y, z = (float)q.z;
    const f8 point[3] = {all8(x), all8(y), all8(z)};
    s->p = p; s->leaf = first; s->least = INFINITY;
    s->margin = MARGIN * (1 + (float)norm(q)); s->limit = 1e30f; s->count = 0;
    s->best = (nearest){INFINITY, {0, 0, 0}, INT32_MAX, 0};
    look_into(t, first, point, s);
    waiting stack[STACK], next = {0, 0}; int top = 0;
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
            if (!marked) break;
            next = nearest_first(stack, &top, n->child, squared, marked);
        }
        if (next.child < 0 && ~next.child != first) look_into(t, ~next.child, point, s);
    } while (take(stack, &top, s->limit, &next));
}

/* Ask memory for the corners that the exact tests will need. */
INLINE void fetch_candidates(const tree *t, const search *s) {
    for (int i = 0; i < s->count; i++) {
        const int32_t *corners = t->faces + 3 * (int64_t)s->held[i].face;
        if (s->held[i].squared > s->limit) continue;
        for (int c = 0; c < 3; c++) __builtin_prefetch(t->vertices + 3 * (int64_t)corners[c]);
    }
}

/* Closest points of order[0 .. k). Rows of the outputs are those of the points. The exact tests of a point wait until the
   next has been searched for: by then what they read is there. */
VISIBLE void NAME(closest)(const tree *t, int64_t k, const uint32_t *order, const double *points, double *distance,
                     int32_t *face, double *weights, double *closest_points, uint8_t *feature) {
    search two[2];
    two[1].leaf = 0;
    for (int64_t i = 0; i <= k; i++) {
        search *now = &two[i % 2], *before = &two[(i + 1) % 2];
        if (i < k) {
            int64_t soon = order[i + AHEAD < k ? i + AHEAD : i];
            __builtin_prefetch(points + 3 * soon); __builtin_prefetch(weights + 3 * soon, 1);
            __builtin_prefetch(closest_points + 3 * soon, 1); __builtin_prefetch(distance + soon, 1);
            find_candidates(t, at(points, order[i]), before->leaf, now);
            fetch_candidates(t, now);
        }
        if (!i) continue;
        settle(t, before);
        const nearest *best = &before->best;
        /* Beyond single precision's range, a million times a million mesh sizes away, every face is asked. */
        if (best->face == INT32_MAX) for (int32_t f = 0; f < t->face_count; f++) test_face(t, before->p, f, &before->best);
        int64_t row = order[i - 1];
        vec q = {0, 0, 0};
        distance[row] = sqrt(best->squared); face[row] = best->face; feature[row] = best->feature;
        for (int c = 0; c < 3; c++) {
            weights[3 * row + c] = best->weight[c];
            q = plus(q, times(corner_of(t, best->face, c), best->weight[c]));
        }
        closest_points[3 * row] = q.x; closest_points[3 * row + 1] = q.y; closest_points[3 * row + 2] = q.z;
    }
}

/* ---- rays ---------------------------------------------------------------------------------------------------- */

typedef struct { double distance, weight[3]; int32_t face; } hit;
typedef struct { double origin[3], along[3]; int x, y, z; double shear_x, shear_y, limit; } ray; /* z: longest axis */

static ray aim(const double *origin, const double *direction, double limit) {
    double x = fabs(direction[0]), y = fabs(direction[1]), z = fabs(direction[2]), most = fmax(x, fmax(y, z));
    vec d = unit(times(at(direction, 0), 1 / most));
    int longest = most == x ? 0 : most == y ? 1 : 2;
    ray r = {{origin[0], origin[1], origin[2]}, {d.x, d.y, d.z}, (longest + 1) % 3, (longest + 2) % 3, longest, 0, 0, limit};
    r.shear_x = r.along[r.x] / r.along[longest]; r.shear_y = r.along[r.y] / r.along[longest];
    return r;
}

/* Exact ray and face, watertight at edges and vertices (Woop, Benthin & Wald 2013): corners are sheared so that the ray
   is an axis, and a rounded difference of two products is never of the wrong sign, at worst zero, which counts as a
   hit. A face seen edge-on is no hit; both sides count; a hit at the origin counts. */
INLINE void test_ray(const tree *t, const ray *r, int32_t face, hit *best) {
    double x[3], y[3], z[3], w[3];
    for (int i = 0; i < 3; i++) {
        const double *p = t->vertices + 3 * (int64_t)t->faces[3 * (int64_t)face + i];
        z[i] = p[r->z] - r->origin[r->z];
        x[i] = p[r->x] - r->origin[r->x] - r->shear_x * z[i]; y[i] = p[r->y] - r->origin[r->y] - r->shear_y * z[i];
    }
    for (int i = 0; i < 3; i++) { int j = (i + 1) % 3, k = (i + 2) % 3; w[i] = x[j] * y[k] - y[j] * x[k]; }
    double sum = w[0] + w[1] + w[2];
    if (!((w[0] >= 0 && w[1] >= 0 && w[2] >= 0) || (w[0] <= 0 && w[1] <= 0 && w[2] <= 0)) || sum == 0) return;
    double distance = (w[0] * z[0] + w[1] * z[1] + w[2] * z[2]) / (sum * r->along[r->z]);
    if (distance < 0 || distance > r->limit) return;
    if (distance < best->distance || (distance == best->distance && face < best->face))
        *best = (hit){distance, {w[0] / sum, w[1] / sum, w[2] / sum}, face};
}

typedef struct { f8 origin[3], d[3], inverse[3], to_near[3], to_far[3]; int near_row[3]; float slack; } ray8;

static ray8 prepare_ray(const tree *t, const ray *exact) {
    vec o = to_unit(t, at(exact->origin, 0));
    const double from[3] = {o.x, o.y, o.z};
    ray8 r;
    r.slack = MARGIN * (1 + (float)norm(o));
    for (int k = 0; k < 3; k++) {
        float step = (float)exact->along[k], inverse = 1 / (fabsf(step) > 1e-18f ? step : copysignf(1e-18f, step));
        float start = (float)from[k], shift = copysignf(r.slack, step);
        r.origin[k] = all8(start); r.d[k] = all8(step); r.inverse[k] = all8(inverse);
        r.to_near[k] = all8((start + shift) * -inverse); r.to_far[k] = all8((start - shift) * -inverse);
        r.near_row[k] = signbit(step) ? 3 + k : k;
    }
    return r;
}

/* Triangles of a leaf that the ray may hit before the limit (Moeller & Trumbore 1997, with slack). */
INLINE int leaf_hits(const leaf *l, const ray8 *r, float limit) {
    f8 s[3], e[3], g[3];
    for (int k = 0; k < 3; k++) {
        s[k] = r->origin[k] - load8(l->corner[k]); e[k] = load8(l->ab[k]); g[k] = load8(l->ac[k]);
    }
    const f8 *d = r->d;
    f8 across[3], over[3];
    cross8(d, g, across); cross8(s, e, over);
    f8 det = dot8(e, across);
    i8 sign = (i8)det & (int32_t)0x80000000;
    f8 u = (f8)((i8)dot8(s, across) ^ sign);
    f8 v = (f8)((i8)dot8(d, over) ^ sign);
    f8 w = (f8)((i8)dot8(g, over) ^ sign);
    det = (f8)((i8)det ^ sign);
    f8 size = abs8(e[0]) + abs8(e[1]) + abs8(e[2]) + abs8(g[0]) + abs8(g[1]) + abs8(g[2]);
    f8 slack = size * r->slack, deep = slack * size;
    i8 hits = (u >= -slack) & (v >= -slack) & (u + v <= det + slack + slack) & (w >= -deep)
              & (w <= (det + size * size * (4 * 0x1p-24f)) * limit + deep);
    return bits8(hits);
}

static void find_hit(const tree *t, const ray *exact, int any, hit *best) {
    ray8 r = prepare_ray(t, exact);
    float far = reach(t, fmin(best->distance, exact->limit), r.slack);
    waiting stack[STACK], next = {0, 0}; int top = 0;
    do {
        while (next.child >= 0) {
            const node *n = &t->nodes[next.child];
            f8 enter = all8(0), leave = all8(far);
            for (int k = 0; k < 3; k++) {
                int row = r.near_row[k];
                enter = max8(enter, fused8(load8(n->box[row]), r.inverse[k], r.to_near[k]));
                leave = min8(leave, fused8(load8(n->box[row < 3 ? row + 3 : row - 3]), r.inverse[k], r.to_far[k]));
            }
            int marked = bits8(enter <= leave);
            if (!marked) break;
            next = nearest_first(stack, &top, n->child, enter, marked);
        }
        if (next.child >= 0) continue;
        const leaf *l = &t->leaves[~next.child];
        int32_t before = best->face;
        EACH_LANE(i, leaf_hits(l, &r, far)) if (l->face[i] >= 0) test_ray(t, exact, l->face[i], best);
        if (best->face == before) continue;
        if (any) return;
        far = reach(t, best->distance, r.slack);
    } while (take(stack, &top, far, &next));
}

/* First hit (or, with any, some hit) of rays order[0 .. k); directions of any length but zero; limits in length. */
VISIBLE void NAME(rays)(const tree *t, int64_t k, const uint32_t *order, const double *origins, const double *directions,
                  const double *limits, int32_t any, double *distance, int32_t *face, double *weights) {
    int32_t previous = -1;
    for (int64_t i = 0; i < k; i++) {
        int64_t row = order[i], soon = order[i + AHEAD < k ? i + AHEAD : i];
        __builtin_prefetch(origins + 3 * soon); __builtin_prefetch(directions + 3 * soon);
        if (!any) { __builtin_prefetch(weights + 3 * soon, 1); __builtin_prefetch(distance + soon, 1); }
        ray r = aim(origins + 3 * row, directions + 3 * row, limits[row]);
        hit best = {INFINITY, {0, 0, 0}, INT32_MAX};
        if (any && previous >= 0) test_ray(t, &r, previous, &best);
        if (!any || best.face == INT32_MAX) find_hit(t, &r, any, &best);
        if (best.face < INT32_MAX) previous = best.face;
        face[row] = best.face < INT32_MAX ? best.face : -1;
        if (any) continue;
        distance[row] = best.distance;
        memcpy(weights + 3 * row, best.weight, sizeof best.weight);
    }
}

/* ---- crossing faces ------------------------------------------------------------------------------------------ */

static int share_corner(const int32_t *label, const tree *t, int64_t f, int64_t g) {
    for (int i = 0; i < 9; i++) if (label[t->faces[3 * f + i / 3]] == label[t->faces[3 * g + i % 3]]) return 1;
    return 0;
}

/* Add the pairs of face f of a with the faces of b it crosses, written while room lasts; returns the new count. */
static int64_t crossings_of(const tree *a, int32_t f, const tree *b, const int32_t *label, int32_t *pairs, int64_t room,
                            int64_t count) {
    const vec own[3] = {corner_of(a, f, 0), corner_of(a, f, 1), corner_of(a, f, 2)};
    bounds box = NOTHING;
    float slack = 0;
    for (int i = 0; i < 3; i++) {
        vec q = to_unit(b, own[i]);
        slack = fmaxf(slack, MARGIN * (1 + (float)norm(q)));
        include(&box, narrowed(q));
    }
    f8 low[3], high[3];
    for (int k = 0; k < 3; k++) { low[k] = all8(box.low[k] - slack); high[k] = all8(box.high[k] + slack); }
    int32_t stack[STACK]; int top = 1;
    stack[0] = 0;
    while (top) {
        int32_t child = stack[--top];
        i8 apart = {0};
        if (child >= 0) {
            const node *n = &b->nodes[child];
            for (int k = 0; k < 3; k++) apart |= (load8(n->box[k]) > high[k]) | (load8(n->box[3 + k]) < low[k]);
            EACH_LANE(i, bits8(~apart)) if (n->child[i]) stack[top++] = n->child[i];
            continue;
        }
        const leaf *l = &b->leaves[~child];
        for (int k = 0; k < 3; k++) {
            f8 p = load8(l->corner[k]), e = load8(l->ab[k]), g = load8(l->ac[k]), zero = all8(0);
            apart |= (p + min8(zero, min8(e, g)) > high[k]) | (p + max8(zero, max8(e, g)) < low[k]);
        }
        EACH_LANE(i, bits8(~apart)) {
            int32_t g = l->face[i];
            if (g < 0 || (label && (g <= f || share_corner(label, a, f, g)))) continue;
            const vec other[3] = {corner_of(b, g, 0), corner_of(b, g, 1), corner_of(b, g, 2)};
            if (!cross_each_other(own, other)) continue;
            if (count < room) { pairs[2 * count] = f; pairs[2 * count + 1] = g; }
            count++;
        }
    }
    return count;
}

/* Pairs (face of a, face of b) for faces first .. last of a; returns their number, which may exceed the room. With
   label (one a vertex) both trees are one mesh: each pair once, faces that share a label left out. */
VISIBLE int64_t NAME(crossings)(const tree *a, const tree *b, int64_t first, int64_t last, const int32_t *label,
                          int32_t *pairs, int64_t room) {
    int64_t count = 0;
    for (int64_t f = first; f < last; f++) count = crossings_of(a, (int32_t)f, b, label, pairs, room, count);
    return count;
}

/* ---- winding number (Barill et al. 2018) --------------------------------------------------------------------- */

static void add_face(const tree *t, int32_t face, const int8_t *turn, moment *m) {
    vec a = corner_of(t, face, 0), b = corner_of(t, face, 1), c = corner_of(t, face, 2);
    vec n = times(cross(minus(b, a), minus(c, a)), 0.5);
    double area = norm(n);
    m->normal = plus(m->normal, times(n, turn[face]));
    m->centre = plus(m->centre, times(plus(a, plus(b, c)), area / 3));
    m->area += area;
}

/* One dipole a node, from faces turned by +-1. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(moments)(tree *t, const int8_t *turn) {
    if (!t->moments) t->moments = malloc((size_t)t->node_count * sizeof(moment));
    if (!t->moments) return -1;
    for (int64_t i = t->node_count - 1; i >= 0; i--) {
        moment sum = {{0, 0, 0}, {0, 0, 0}, 0, 0};
        const node *n = &t->nodes[i];
        for (int k = 0; k < WIDTH; k++) {
            if (n->child[k] > 0) {
                const moment *m = &t->moments[n->child[k]];
                sum.normal = plus(sum.normal, m->normal); sum.area += m->area;
                sum.centre = plus(sum.centre, times(m->centre, m->area));
            } else if (n->child[k] < 0) {
                const int32_t *face = t->leaves[~n->child[k]].face;
                for (int j = 0; j < WIDTH && face[j] >= 0; j++) add_face(t, face[j], turn, &sum);
            }
        }
        bounds box = box_of(n);
        vec low = from_unit(t, box.low), high = from_unit(t, box.high);
        sum.centre = sum.area > 0 ? times(sum.centre, 1 / sum.area) : low;
        sum.radius = norm(upper(minus(sum.centre, low), minus(high, sum.centre)));
        t->moments[i] = sum;
    }
    return 0;
}

VISIBLE void NAME(winding)(const tree *t, int64_t k, const double *points, const int8_t *turn, double *winding) {
    for (int64_t i = 0; i < k; i++) {
        vec p = at(points, i);
        int32_t stack[STACK]; int top = 1;
        double sum = 0;
        stack[0] = 0;
        while (top) {
            int32_t child = stack[--top];
            if (child < 0) {
                const int32_t *face = t->leaves[~child].face;
                for (int j = 0; j < WIDTH && face[j] >= 0; j++) {
                    vec corner[3];
                    corners_of(t, face[j], p, corner);
                    sum += turn[face[j]] * winding_of(corner);
                }
                continue;
            }
            const moment *m = &t->moments[child];
            vec to = minus(m->centre, p);
            double distance = norm(to);
            if (distance > 3 * m->radius) {
                sum += dot(m->normal, to) / (4 * PI * distance * distance * distance);
                continue;
            }
            for (int j = 0; j < WIDTH; j++) if (t->nodes[child].child[j]) stack[top++] = t->nodes[child].child[j];
        }
        winding[i] = sum;
    }
}

/* ---- how faces hang together --------------------------------------------------------------------------------- */

/* label[i]: the first vertex at the very position of vertex i. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(weld)(const double *vertices, int64_t n, int32_t *label) {
    uint64_t room = 16;
    while (room < (uint64_t)n * 2) room *= 2;
    int32_t *slot = malloc(room * sizeof *slot);
    if (!slot) return -1;
    memset(slot, 0xff, room * sizeof *slot);
    for (int64_t i = 0; i < n; i++) {
        const double *p = vertices + 3 * i;
        const double positive[3] = {p[0] + 0.0, p[1] + 0.0, p[2] + 0.0};
        uint64_t word[3];
        memcpy(word, positive, sizeof word);
        uint64_t h = (word[0] * 0x9e3779b97f4a7c15ull ^ word[1]) * 0xbf58476d1ce4e5b9ull;
        h = ((h ^ h >> 29) + word[2]) * 0x94d049bb133111ebull;
        for (h = (h ^ h >> 32) & (room - 1); slot[h] >= 0; h = (h + 1) & (room - 1)) {
            const double *q = vertices + 3 * (int64_t)slot[h];
            if (p[0] == q[0] && p[1] == q[1] && p[2] == q[2]) break;
        }
        if (slot[h] < 0) slot[h] = (int32_t)i;
        label[i] = slot[h];
    }
    free(slot);
    return 0;
}

/* neighbour[3 f + e]: 3 g + e' of the one other side of edge e (corner e to the next) of face f; -1 on an open border,
   -2 where three or more faces meet, -3 on faces with a repeated corner, which are passed over. */
VISIBLE int32_t NAME(neighbours)(const int32_t *faces, int64_t m, int64_t n, int32_t *neighbour) {
    int64_t *start = calloc((size_t)n + 2, sizeof *start);
    int32_t *sides = malloc((size_t)m * 3 * sizeof *sides + 1);
    if (!start || !sides) { free(start); free(sides); return -1; }
#define LOW(s) (faces[s] < faces[NEXT(s)] ? faces[s] : faces[NEXT(s)])
#define HIGH(s) (faces[s] < faces[NEXT(s)] ? faces[NEXT(s)] : faces[s])
#define NEXT(s) ((s) % 3 == 2 ? (s) - 2 : (s) + 1)
    for (int64_t s = 0; s < 3 * m; s++) {
        const int32_t *f = faces + s / 3 * 3;
        neighbour[s] = f[0] == f[1] || f[1] == f[2] || f[2] == f[0] ? -3 : -1;
        if (neighbour[s] == -1) start[LOW(s) + 2]++;
    }
    for (int64_t i = 0; i < n; i++) start[i + 2] += start[i + 1];
    for (int64_t s = 0; s < 3 * m; s++) if (neighbour[s] == -1) sides[start[LOW(s) + 1]++] = (int32_t)s;
    for (int64_t v = 0; v < n; v++) {
        for (int64_t i = start[v]; i < start[v + 1]; i++) {
            int32_t s = sides[i], other = -1, mates = 0;
            for (int64_t j = start[v]; j < start[v + 1]; j++)
                if (j != i && HIGH(sides[j]) == HIGH(s)) { other = sides[j]; mates++; }
            neighbour[s] = mates > 1 ? -2 : other;
        }
    }
    free(start); free(sides);
    return 0;
}

/* piece[f] numbers the parts joined over edges; turn[f] is -1 where f runs against the first face of its part.
   seam[p] is 1 where part p cannot be turned consistently (a Moebius band). Returns the number of parts or -1. */
VISIBLE int32_t NAME(orient)(const int32_t *faces, const int32_t *neighbour, int64_t m, int32_t *piece, int8_t *turn,
                       uint8_t *seam) {
    int32_t *queue = malloc((size_t)m * sizeof *queue + 1), pieces = 0;
    if (!queue) return -1;
    for (int64_t f = 0; f < m; f++) piece[f] = -1;
    for (int32_t seed = 0; seed < m; seed++) {
        if (piece[seed] >= 0) continue;
        int64_t head = 0, tail = 1;
        queue[0] = seed; piece[seed] = pieces; turn[seed] = 1; seam[pieces] = 0;
        while (head < tail) {
            int32_t f = queue[head++];
            for (int64_t s = 3 * (int64_t)f; s < 3 * (int64_t)f + 3; s++) {
                if (neighbour[s] < 0) continue;
                int32_t g = neighbour[s] / 3;
                int8_t wanted = (int8_t)(faces[s] == faces[neighbour[s]] ? -turn[f] : turn[f]);
                if (piece[g] < 0) { piece[g] = pieces; turn[g] = wanted; queue[tail++] = g; }
                else if (turn[g] != wanted) seam[pieces] = 1;
            }
        }
        pieces++;
    }
    free(queue);
    return pieces;
}

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
            to[0] += angle * n.x; to[1] += angle * n.y; to[2] += angle * n.z;
        }
    }
}

/* On which side of the surface does each point lie, from its closest point? 1 outside, -1 inside, 0 on it, 2 beyond an
   open border (more than slant = sine of the angle past its edge), 3 undecided. outward: for border vertices the way
   out of the surface, else 0. faces are labelled corners. */
VISIBLE void NAME(sides)(const double *vertices, const int32_t *faces, const int32_t *neighbour, const int8_t *turn,
                   const double *vertex_normals, const double *outward, int64_t k, const double *points,
                   const int32_t *face, const uint8_t *feature, const double *closest_points, double slant,
                   double touch, int8_t *side) {
    for (int64_t i = 0; i < k; i++) {
        int64_t f = face[i];
        vec r = minus(at(points, i), at(closest_points, i)), n = times(face_normal(vertices, faces + 3 * f), turn[f]);
        double far = norm(r), facing = dot(n, n);
        vec out = {0, 0, 0};
        if (feature[i] >= 4) {
            int32_t v = faces[3 * f + feature[i] - 4];
            n = unit(at(vertex_normals, v)); out = at(outward, v); facing = dot(n, n);
        } else if (feature[i] >= 1) {
            int64_t s = 3 * f + feature[i] - 1;
            int32_t other = neighbour[s];
            if (other >= 0) {
                vec m = times(face_normal(vertices, faces + other / 3 * 3), turn[other / 3]);
                facing *= dot(m, m); n = unit(plus(n, m));
            } else if (other == -1) {
                vec along = minus(at(vertices, faces[NEXT(s)]), at(vertices, faces[s]));
                out = times(unit(cross(along, n)), turn[f]);
            } else facing = 0;
        }
        double height = dot(r, n);
        if (far == 0) side[i] = 0;
        else if (dot(r, out) > slant * far + touch) side[i] = 2;
        else if (!(facing > 0) || fabs(height) < 1e-9 * far) side[i] = 3;
        else side[i] = height > 0 ? 1 : -1;
    }
}

/* ---- distance along the surface ------------------------------------------------------------------------------- */

/* How the front reached a vertex. ON: a source beside another source (part of a curve). FLAT: over a triangle from a
   curve. ROUND: from one point. A front between two vertices is flat if it comes from a curve, else round. */
enum { ON, FLAT, ROUND };

typedef struct {
    const double *vertices; const int32_t *faces, *neighbour;
    int64_t *start; int32_t *corners; /* sides of each vertex's faces that begin at it */
    int32_t *heap, *place; int64_t waiting; /* place: -1 not seen, -2 settled, else index in the heap */
    double *distance; int32_t *source; uint8_t *kind; double limit;
} front;

static void set_place(front *w, int64_t i, int32_t v) { w->heap[i] = v; w->place[v] = (int32_t)i; }

/* Put v into the free place i of the heap, or above. */
static void heap_up(front *w, int64_t i, int32_t v) {
    for (int64_t up; i > 0; i = up) {
        up = (i - 1) / 2;
        if (w->distance[w->heap[up]] <= w->distance[v]) break;
        set_place(w, i, w->heap[up]);
    }
    set_place(w, i, v);
}

static int32_t heap_pop(front *w) {
    int32_t top = w->heap[0], v = w->heap[--w->waiting];
    int64_t i = 0;
    for (int64_t down; (down = 2 * i + 1) < w->waiting; i = down) {
        if (down + 1 < w->waiting && w->distance[w->heap[down + 1]] < w->distance[w->heap[down]]) down++;
        if (w->distance[w->heap[down]] >= w->distance[v]) break;
        set_place(w, i, w->heap[down]);
    }
    set_place(w, i, v);
    w->place[top] = -2;
    return top;
}

static void offer(front *w, int32_t v, double distance, int32_t source, uint8_t kind) {
    if (w->place[v] == -2 || distance >= w->distance[v] || distance > w->limit) return;
    w->distance[v] = distance; w->source[v] = source; w->kind[v] = kind;
    heap_up(w, w->place[v] == -1 ? w->waiting++ : w->place[v], v);
}

/* Let the front cross segment a b (b at length along the first axis from a) to vertex v at (x, y), y > 0. */
static void cross_segment(front *w, int32_t a, int32_t b, double length, int32_t v, double x, double y) {
    double da = w->distance[a], db = w->distance[b], slope = (db - da) / length;
    if (!(fabs(slope) < 1)) return;
    int round = (w->kind[a] == ROUND || w->kind[b] == ROUND) && w->kind[a] != FLAT && w->kind[b] != FLAT;
    double arrival, meet;
    if (round) {
        double sx = (da * da - db * db + length * length) / (2 * length), sy = sqrt(fmax(0, da * da - sx * sx));
        meet = sx + (x - sx) * sy / (sy + y); arrival = hypot(x - sx, y + sy);
    } else {
        double steep = sqrt(1 - slope * slope);
        meet = x - y * slope / steep; arrival = da + slope * x + steep * y;
    }
    if (meet < 0 || meet > length || arrival < fmax(da, db)) return;
    offer(w, v, arrival, w->source[2 * meet < length ? a : b], round ? ROUND : FLAT);
}

/* Where c lies in the plane of a (origin) and b (on the first axis): x along, y across. */
static void place_corner(vec a, vec b, vec c, double *x, double *y) {
    vec ab = unit(minus(b, a)), ac = minus(c, a);
    *x = dot(ab, ac); *y = norm(minus(ac, times(ab, *x)));
}

/* Corner v of side s's face is obtuse: unfold faces beyond s until a vertex lies where it splits the corner, and let the
   front cross from there (Kimmel & Sethian 1998). */
static void unfold(front *w, int32_t a, int32_t b, int64_t s, double length, int32_t v, double x, double y) {
    const vec ends[2] = {{0, 0, 0}, {length, 0, 0}}, here = {x, y, 0};
    const int32_t names[2] = {a, b};
    vec pa = ends[0], pb = ends[1];
    for (int step = 0; step < 16 && w->neighbour[s] >= 0; step++) {
        int64_t over = w->neighbour[s], next = NEXT(over);
        int32_t c = w->faces[NEXT(next)];
        double along, across;
        place_corner(at(w->vertices, a), at(w->vertices, b), at(w->vertices, c), &along, &across);
        vec e = unit(minus(pb, pa)), pc = plus(pa, plus(times(e, along), (vec){e.y * across, -e.x * across, 0}));
        double from_a = dot(minus(ends[0], here), minus(pc, here)), from_b = dot(minus(ends[1], here), minus(pc, here));
        if (from_a > 0 && from_b > 0) {
            if (w->place[c] != -2) return;
            offer(w, v, w->distance[c] + norm(minus(pc, here)), w->source[c], w->kind[c] == ON ? ROUND : w->kind[c]);
            for (int i = 0; i < 2; i++) {
                if (w->place[names[i]] != -2) continue;
                place_corner(ends[i], pc, here, &along, &across);
                cross_segment(w, names[i], c, norm(minus(pc, ends[i])), v, along, across);
            }
            return;
        }
        s = (w->faces[next] == (from_a > 0 ? b : a)) ? next : NEXT(next);
        if (from_a > 0) { a = c; pa = pc; } else { b = c; pb = pc; }
    }
}

/* The front has settled at a: pass it on to corner v of the face whose third corner is b; s is the side a b. */
static void pass_on(front *w, int32_t a, int32_t b, int64_t s, int32_t v) {
    vec pa = at(w->vertices, a), pb = at(w->vertices, b), pv = at(w->vertices, v);
    double length = norm(minus(pb, pa)), x, y;
    offer(w, v, w->distance[a] + norm(minus(pv, pa)), w->source[a], w->kind[a] == ON ? ROUND : w->kind[a]);
    if (!(length > 0) || w->place[v] == -2) return;
    place_corner(pa, pb, pv, &x, &y);
    if (w->place[b] == -2) cross_segment(w, a, b, length, v, x, y);
    if (dot(minus(pa, pv), minus(pb, pv)) < 0) unfold(w, a, b, s, length, v, x, y);
}

static int find_corners(front *w, int64_t n, int64_t m) {
    w->start = calloc((size_t)n + 2, sizeof *w->start);
    w->corners = malloc((size_t)m * 3 * sizeof *w->corners + 1);
    w->heap = malloc((size_t)n * 2 * sizeof *w->heap + 1);
    w->kind = calloc((size_t)n + 1, 1);
    if (!w->start || !w->corners || !w->heap || !w->kind) return -1;
    w->place = w->heap + n;
    for (int64_t s = 0; s < 3 * m; s++) w->start[w->faces[s] + 2]++;
    for (int64_t i = 0; i < n; i++) w->start[i + 2] += w->start[i + 1];
    for (int64_t s = 0; s < 3 * m; s++) w->corners[w->start[w->faces[s] + 1]++] = (int32_t)s;
    for (int64_t i = 0; i < n; i++) { w->place[i] = -1; w->distance[i] = INFINITY; w->source[i] = -1; }
    return 0;
}

/* Fast marching (Kimmel & Sethian 1998) from sources with given distances to the limit. source receives indices into
   sources. Returns 0, or -1 out of memory. */
VISIBLE int32_t NAME(march)(const double *vertices, int64_t n, const int32_t *faces, const int32_t *neighbour, int64_t m,
                      const int32_t *sources, const double *source_distance, int64_t count, double limit,
                      double *distance, int32_t *source) {
    front w = {vertices, faces, neighbour, 0, 0, 0, 0, 0, distance, source, 0, limit};
    int32_t status = find_corners(&w, n, m);
    if (!status) {
        for (int64_t i = 0; i < count; i++) offer(&w, sources[i], source_distance[i], (int32_t)i, ROUND);
        for (int64_t s = 0; s < 3 * m; s++)
            if (source[faces[s]] >= 0 && source[faces[NEXT(s)]] >= 0 && faces[s] != faces[NEXT(s)])
                w.kind[faces[s]] = w.kind[faces[NEXT(s)]] = ON;
        while (w.waiting) {
            int32_t a = heap_pop(&w);
            for (int64_t i = w.start[a]; i < w.start[a + 1]; i++) {
                int64_t s = w.corners[i], next = NEXT(s), last = NEXT(next);
                pass_on(&w, a, faces[next], s, faces[last]);
                pass_on(&w, a, faces[last], last, faces[next]);
            }
        }
    }
    free(w.start); free(w.corners); free(w.heap); free(w.kind);
    return status;
}
