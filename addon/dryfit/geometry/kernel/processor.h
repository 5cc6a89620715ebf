/* What this machine can run. */

#pragma once

#include <stdint.h>

/* May it run the dryfit_avx2_ twins of the dryfit_base_ functions? */
#if defined(__x86_64__)
#include <cpuid.h>
VISIBLE int32_t dryfit_has_avx2(void) {
    const unsigned xgetbv_avx_fused = 1u << 27 | 1u << 28 | 1u << 12, avx2 = 1u << 5;
    unsigned a, b, c, d, saved;
    if (!__get_cpuid(1, &a, &b, &c, &d) || (c & xgetbv_avx_fused) != xgetbv_avx_fused) {
        return 0;
    }
    __asm__("xgetbv" : "=a"(saved), "=d"(d) : "c"(0));
    if ((saved & 6) != 6 || !__get_cpuid_count(7, 0, &a, &b, &c, &d)) {
        return 0;
    }
    return (b & avx2) != 0;
}
#else
VISIBLE int32_t dryfit_has_avx2(void) { return 0; }
#endif
