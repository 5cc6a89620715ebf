/* Loads a compiled kernel, asks every question of one mesh, and prints a digest of each answer.

   Run for each platform (an emulator will do): the lines must be the same everywhere. The mesh is made by integers and
   square roots alone, which every platform rounds alike; answers that pass through the platform's own arc functions
   are printed to nine digits instead of being digested bit by bit. */

#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#if defined(_WIN32)
#include <windows.h>
static void *library(const char *path) { return (void *)LoadLibraryA(path); }
static void *symbol(void *from, const char *name) { return (void *)GetProcAddress((HMODULE)from, name); }
#else
#include <dlfcn.h>
static void *library(const char *path) { return dlopen(path, RTLD_NOW); }
static void *symbol(void *from, const char *name) { return dlsym(from, name); }
#endif

enum { SIDE = 40, VERTICES = 6 * SIDE * SIDE, FACES = 12 * (SIDE - 1) * (SIDE - 1), QUERIES = 3000, ROOM = 200000 };

static double vertices[VERTICES * 3], moved[VERTICES * 3], points[QUERIES * 3], along[QUERIES * 3], limits[QUERIES];
static int32_t faces[FACES * 3], neighbour[FACES * 3], piece[FACES], label[VERTICES], source[VERTICES];
static int8_t turn[FACES], side[QUERIES];
static uint8_t seam[FACES], feature[QUERIES];
static double distance[QUERIES], weights[QUERIES * 3], nearest[QUERIES * 3], winding[QUERIES];
static double normals[VERTICES * 3], outward[VERTICES * 3], travelled[VERTICES];
static int32_t face[QUERIES], pairs[ROOM * 2];
static uint32_t order[QUERIES];

static uint64_t state = 1;
static double random_unit(void) { /* exact in binary, -1 to 1 */
    state = state * 6364136223846793005u + 1442695040888963407u;
    return (double)((int64_t)(state >> 40) - (1 << 23)) / (1 << 23);
}

static void digest(const char *name, const void *bytes, size_t count) {
    uint64_t hash = 1469598103934665603u;
    for (size_t i = 0; i < count; i++) {
        hash = (hash ^ ((const uint8_t *)bytes)[i]) * 1099511628211u;
    }
    printf("%s %016llx\n", name, (unsigned long long)hash);
}

static void sum(const char *name, const double *values, size_t count) {
    double total = 0, weighted = 0;
    for (size_t i = 0; i < count; i++) {
        total += values[i];
        weighted += values[i] * (double)(i % 7);
    }
    printf("%s %.9f %.9f\n", name, total, weighted);
}

/* Six grids of a cube, pushed out to a bumpy ball; the sides share positions but no vertices. */
static void make_mesh(void) {
    int32_t f = 0;
    for (int s = 0; s < 6; s++) {
        for (int i = 0; i < SIDE; i++) {
            for (int j = 0; j < SIDE; j++) {
                int32_t v = (s * SIDE + i) * SIDE + j;
                double across = 2.0 * i / (SIDE - 1) - 1, up = 2.0 * j / (SIDE - 1) - 1, p[3];
                p[s % 3] = s < 3 ? 1 : -1;
                p[(s + 1) % 3] = s < 3 ? across : -across;
                p[(s + 2) % 3] = up;
                double away = sqrt(p[0] * p[0] + p[1] * p[1] + p[2] * p[2]);
                double radius = 90 + 6 * p[0] * p[1] * p[2] + 4 * p[0] * p[0];
                for (int a = 0; a < 3; a++) {
                    vertices[3 * v + a] = p[a] / away * radius;
                }
                if (i + 1 < SIDE && j + 1 < SIDE) {
                    const int32_t quad[6] = {v, v + SIDE, v + SIDE + 1, v, v + SIDE + 1, v + 1};
                    memcpy(faces + 3 * f, quad, sizeof quad);
                    f += 2;
                }
            }
        }
    }
    for (int i = 0; i < QUERIES; i++) {
        limits[i] = i % 5 ? 1e30 : 40;
    }
    for (int i = 0; i < QUERIES * 3; i++) {
        points[i] = 110 * random_unit();
        along[i] = random_unit();
    }
}

static void *kernel;
static const char *level;
static void *question(const char *name) {
    char whole[64];
    snprintf(whole, sizeof whole, "dryfit_%s_%s", level, name);
    void *found = symbol(kernel, whole);
    if (!found) {
        fprintf(stderr, "no %s\n", whole);
        exit(1);
    }
    return found;
}

typedef void *(*build_call)(const double *, const int32_t *, int64_t);
typedef void (*refit_call)(void *, const double *);
typedef int32_t (*lean_call)(void *);
typedef void (*release_call)(void *);
typedef int32_t (*order_call)(const void *, int64_t, const double *, const double *, uint32_t *);
typedef void (*closest_call)(const void *, int64_t, const uint32_t *, const double *, double *, int32_t *, double *,
                             double *, uint8_t *);
typedef void (*rays_call)(const void *, int64_t, const uint32_t *, const double *, const double *, const double *,
                          int64_t, int32_t, double *, int32_t *, double *);
typedef int64_t (*crossings_call)(const void *, const void *, int64_t, int64_t, const int32_t *, int32_t *, int64_t);
typedef int32_t (*moments_call)(void *, const int8_t *);
typedef void (*winding_call)(const void *, int64_t, const double *, const int8_t *, double *);
typedef int32_t (*weld_call)(const double *, int64_t, int32_t *);
typedef int32_t (*neighbours_call)(const int32_t *, int64_t, int64_t, int32_t *);
typedef int32_t (*orient_call)(const int32_t *, const int32_t *, int64_t, int32_t *, int8_t *, uint8_t *);
typedef void (*normals_call)(const double *, const int32_t *, int64_t, const int8_t *, double *);
typedef void (*sides_call)(const double *, const int32_t *, const int32_t *, const int8_t *, const double *,
                           const double *, int64_t, const double *, const int32_t *, const uint8_t *, const double *,
                           double, double, int8_t *);
typedef int32_t (*march_call)(const double *, int64_t, const int32_t *, const int32_t *, int64_t, const int32_t *,
                              const double *, int64_t, double, double *, int32_t *);

static void ask_skin(void) {
    printf("weld %d\n", ((weld_call)question("weld"))(vertices, VERTICES, label));
    digest("label", label, sizeof label);
    for (int i = 0; i < FACES * 3; i++) {
        faces[i] = label[faces[i]];
    }
    printf("neighbours %d\n", ((neighbours_call)question("neighbours"))(faces, FACES, VERTICES, neighbour));
    digest("neighbour", neighbour, sizeof neighbour);
    printf("pieces %d\n", ((orient_call)question("orient"))(faces, neighbour, FACES, piece, turn, seam));
    digest("turn", turn, sizeof turn);
    ((normals_call)question("vertex_normals"))(vertices, faces, FACES, turn, normals);
    sum("normals", normals, VERTICES * 3);
}

static void ask_tree(void) {
    build_call build = (build_call)question("build");
    void *tree = build(vertices, faces, FACES);
    order_call sort = (order_call)question("order");
    lean_call lean = (lean_call)question("lean");
    printf("order %d, lean %d\n", sort(tree, QUERIES, points, NULL, order), lean(tree));
    ((closest_call)question("closest"))(tree, QUERIES, order, points, distance, face, weights, nearest, feature);
    digest("closest", distance, sizeof distance);
    digest("face", face, sizeof face);
    digest("nearest", nearest, sizeof nearest);
    digest("feature", feature, sizeof feature);
    ((sides_call)question("sides"))(vertices, faces, neighbour, turn, normals, outward, QUERIES, points, face, feature,
                                    nearest, 0.0, 1e-9, side);
    digest("side", side, sizeof side);
    ((moments_call)question("moments"))(tree, turn);
    ((winding_call)question("winding"))(tree, QUERIES, points, turn, winding);
    sum("winding", winding, QUERIES);
    rays_call cast = (rays_call)question("rays");
    sort(tree, QUERIES, points, along, order);
    cast(tree, QUERIES, order, points, along, limits, 1, 0, distance, face, weights);
    digest("first hit", face, sizeof face);
    digest("along", distance, sizeof distance);
    cast(tree, QUERIES, order, points, along, limits, 1, 1, NULL, pairs, NULL);
    for (int i = 0; i < QUERIES; i++) {
        if ((pairs[i] >= 0) != (face[i] >= 0)) {
            fprintf(stderr, "ray %d: any hit and first hit differ\n", i);
            exit(1);
        }
    }
    for (int i = 0; i < VERTICES * 3; i++) {
        moved[i] = vertices[i] + (i % 3 ? 0 : 30.25);
    }
    void *other = build(moved, faces, FACES);
    int64_t count = ((crossings_call)question("crossings"))(tree, other, 0, FACES, NULL, pairs, ROOM);
    printf("crossings %lld\n", (long long)count);
    ((refit_call)question("refit"))(tree, moved);
    printf("lean again %d\n", lean(tree));
    sort(tree, QUERIES, points, NULL, order);
    ((closest_call)question("closest"))(tree, QUERIES, order, points, distance, face, weights, nearest, feature);
    digest("closest after refit", distance, sizeof distance);
    ((release_call)question("release"))(tree);
    ((release_call)question("release"))(other);
}

static void ask_march(void) {
    const int32_t start[2] = {label[0], label[VERTICES - 1]};
    const double begun[2] = {0, 2.5};
    march_call march = (march_call)question("march");
    printf("march %d\n", march(vertices, VERTICES, faces, neighbour, FACES, start, begun, 2, 120.0, travelled, source));
    for (int i = 0; i < VERTICES; i++) {
        if (travelled[i] > 1e30) {
            travelled[i] = -1;
        }
    }
    sum("travelled", travelled, VERTICES);
}

int main(int count, char **given) {
    if (count != 3 || !(kernel = library(given[1]))) {
        fprintf(stderr, "cannot load the kernel\n");
        return 1;
    }
    level = given[2];
    printf("interface %d\n", ((int32_t (*)(void))symbol(kernel, "dryfit_interface"))());
    make_mesh();
    ask_skin();
    ask_tree();
    ask_march();
    return 0;
}
