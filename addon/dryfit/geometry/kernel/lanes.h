/* Eight lanes of single precision: AVX2 where it is compiled for, else pairs of four lanes on SSE2 and NEON, and plain
   C elsewhere. */

#pragma once

#include <stdint.h>
#include <string.h>

typedef float f8 __attribute__((vector_size(32)));
typedef float f4 __attribute__((vector_size(16)));
typedef int32_t i8 __attribute__((vector_size(32)));

INLINE f8 load8(const float *from) {
    f8 v;
    memcpy(&v, from, sizeof v);
    return v;
}

INLINE i8 whole8(const int32_t *from) {
    i8 v;
    memcpy(&v, from, sizeof v);
    return v;
}

INLINE f8 all8(float x) { return (f8){x, x, x, x, x, x, x, x}; }

#if defined(__AVX2__)
#include <immintrin.h>
INLINE f8 min8(f8 a, f8 b) { return (f8)_mm256_min_ps((__m256)a, (__m256)b); }
INLINE f8 max8(f8 a, f8 b) { return (f8)_mm256_max_ps((__m256)a, (__m256)b); }
INLINE int bits8(i8 mask) { return _mm256_movemask_ps((__m256)mask); }
INLINE f8 fused8(f8 a, f8 b, f8 c) { return (f8)_mm256_fmadd_ps((__m256)a, (__m256)b, (__m256)c); }
INLINE f4 min4(f4 a, f4 b) { return (f4)_mm_min_ps((__m128)a, (__m128)b); }
INLINE f4 max4(f4 a, f4 b) { return (f4)_mm_max_ps((__m128)a, (__m128)b); }
#else
INLINE f8 fused8(f8 a, f8 b, f8 c) { return a * b + c; }

typedef struct {
    f4 low, high;
} halves;

INLINE halves split8(f8 v) {
    halves h;
    memcpy(&h, &v, sizeof h);
    return h;
}

INLINE f8 join8(f4 low, f4 high) {
    f8 v;
    halves h = {low, high};
    memcpy(&v, &h, sizeof v);
    return v;
}
#if defined(__SSE2__)
#include <emmintrin.h>
INLINE f4 min4(f4 a, f4 b) { return (f4)_mm_min_ps((__m128)a, (__m128)b); }
INLINE f4 max4(f4 a, f4 b) { return (f4)_mm_max_ps((__m128)a, (__m128)b); }
INLINE int bits4(f4 mask) { return _mm_movemask_ps((__m128)mask); }
#elif defined(__ARM_NEON)
#include <arm_neon.h>
INLINE f4 min4(f4 a, f4 b) { return (f4)vminq_f32((float32x4_t)a, (float32x4_t)b); }
INLINE f4 max4(f4 a, f4 b) { return (f4)vmaxq_f32((float32x4_t)a, (float32x4_t)b); }

INLINE int bits4(f4 mask) {
    const uint32x4_t weights = {1, 2, 4, 8};
    return (int)vaddvq_u32(vandq_u32((uint32x4_t)mask, weights));
}
#else
INLINE f4 min4(f4 a, f4 b) {
    for (int i = 0; i < 4; i++) {
        a[i] = b[i] < a[i] ? b[i] : a[i];
    }
    return a;
}

INLINE f4 max4(f4 a, f4 b) {
    for (int i = 0; i < 4; i++) {
        a[i] = b[i] > a[i] ? b[i] : a[i];
    }
    return a;
}

INLINE int bits4(f4 mask) {
    int32_t lanes[4];
    int bits = 0;
    memcpy(lanes, &mask, sizeof lanes);
    for (int i = 0; i < 4; i++) {
        bits |= (lanes[i] < 0) << i;
    }
    return bits;
}
#endif
INLINE f8 min8(f8 a, f8 b) {
    halves x = split8(a), y = split8(b);
    return join8(min4(x.low, y.low), min4(x.high, y.high));
}

INLINE f8 max8(f8 a, f8 b) {
    halves x = split8(a), y = split8(b);
    return join8(max4(x.low, y.low), max4(x.high, y.high));
}

INLINE int bits8(i8 mask) {
    halves h = split8((f8)mask);
    return bits4(h.low) | bits4(h.high) << 4;
}
#endif

/* Number of the lowest bit that is set. Lanes are visited lowest first: left = bits; left; left &= left - 1. */
INLINE int lowest_bit(int bits) { return __builtin_ctz((unsigned)bits); }

/* Where the mask is set, a; elsewhere b. */
INLINE f8 choose8(i8 mask, f8 a, f8 b) { return (f8)((mask & (i8)a) | (~mask & (i8)b)); }

INLINE float most8(f8 v) {
    f4 h[2];
    memcpy(h, &v, sizeof h);
    f4 m = max4(h[0], h[1]);
    float a = m[0] > m[1] ? m[0] : m[1], b = m[2] > m[3] ? m[2] : m[3];
    return a > b ? a : b;
}

INLINE float least8(f8 v) { return -most8(-v); }
INLINE f8 abs8(f8 a) { return max8(a, -a); }
INLINE f8 dot8(const f8 a[3], const f8 b[3]) { return fused8(a[2], b[2], fused8(a[1], b[1], a[0] * b[0])); }

INLINE void cross8(const f8 a[3], const f8 b[3], f8 c[3]) {
    c[0] = fused8(a[1], b[2], -(a[2] * b[1]));
    c[1] = fused8(a[2], b[0], -(a[0] * b[2]));
    c[2] = fused8(a[0], b[1], -(a[1] * b[0]));
}
