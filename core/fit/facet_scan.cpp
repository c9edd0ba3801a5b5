#include "core/fit/facet_scan.h"

#include <limits>

// Resolvers of multi-versioned functions run before the sanitizers are ready.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define MACLE_MANY_WIDTHS __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define MACLE_MANY_WIDTHS
#endif

namespace macle::scan {

namespace {

typedef float Floats __attribute__((vector_size(64)));
typedef double Doubles __attribute__((vector_size(64)));

}  // namespace

MACLE_MANY_WIDTHS
void boxBounds(const FacetFloats* facets, std::size_t blocks, const float* q0, const float* h0,
               const float* q1, const float* h1, float* bounds) {
    Floats best0, best1;
    for (int lane = 0; lane < 16; ++lane)
        best0[lane] = best1[lane] = -std::numeric_limits<float>::infinity();
    for (std::size_t i = 0; i < blocks; ++i) {
        const Floats& gx = *reinterpret_cast<const Floats*>(facets[i].gx);
        const Floats& gy = *reinterpret_cast<const Floats*>(facets[i].gy);
        const Floats& gz = *reinterpret_cast<const Floats*>(facets[i].gz);
        const Floats& ax = *reinterpret_cast<const Floats*>(facets[i].ax);
        const Floats& ay = *reinterpret_cast<const Floats*>(facets[i].ay);
        const Floats& az = *reinterpret_cast<const Floats*>(facets[i].az);
        const Floats& b = *reinterpret_cast<const Floats*>(facets[i].b);
        const Floats v0 =
            (gx * q0[0] + gy * q0[1] + gz * q0[2]) - (ax * h0[0] + ay * h0[1] + az * h0[2]) + b;
        const Floats v1 =
            (gx * q1[0] + gy * q1[1] + gz * q1[2]) - (ax * h1[0] + ay * h1[1] + az * h1[2]) + b;
        best0 = v0 > best0 ? v0 : best0;
        best1 = v1 > best1 ? v1 : best1;
    }
    float m0 = best0[0], m1 = best1[0];
    for (int lane = 1; lane < 16; ++lane) {
        m0 = best0[lane] > m0 ? best0[lane] : m0;
        m1 = best1[lane] > m1 ? best1[lane] : m1;
    }
    bounds[0] = m0;
    bounds[1] = m1;
}

MACLE_MANY_WIDTHS
void triangleBounds(const FacetFloats* facets, std::size_t blocks, const float* corners,
                    std::size_t count, float* bounds) {
    for (std::size_t t = 0; t < count; ++t) {
        const float* c = corners + 9 * t;
        Floats best;
        for (int lane = 0; lane < 16; ++lane)
            best[lane] = -std::numeric_limits<float>::infinity();
        for (std::size_t i = 0; i < blocks; ++i) {
            const Floats& gx = *reinterpret_cast<const Floats*>(facets[i].gx);
            const Floats& gy = *reinterpret_cast<const Floats*>(facets[i].gy);
            const Floats& gz = *reinterpret_cast<const Floats*>(facets[i].gz);
            const Floats& b = *reinterpret_cast<const Floats*>(facets[i].b);
            const Floats v0 = gx * c[0] + gy * c[1] + gz * c[2];
            const Floats v1 = gx * c[3] + gy * c[4] + gz * c[5];
            const Floats v2 = gx * c[6] + gy * c[7] + gz * c[8];
            Floats least = v0 < v1 ? v0 : v1;
            least = (v2 < least ? v2 : least) + b;
            best = least > best ? least : best;
        }
        float m = best[0];
        for (int lane = 1; lane < 16; ++lane)
            m = best[lane] > m ? best[lane] : m;
        bounds[t] = m;
    }
}

MACLE_MANY_WIDTHS
int steepestFacet(const FacetDoubles* facets, std::size_t blocks, const double* q, double* value) {
    typedef long long Indices __attribute__((vector_size(64)));
    Doubles best;
    Indices where;
    for (int lane = 0; lane < 8; ++lane) {
        best[lane] = -std::numeric_limits<double>::infinity();
        where[lane] = 0;
    }
    Indices here = {0, 1, 2, 3, 4, 5, 6, 7};
    for (std::size_t i = 0; i < blocks; ++i) {
        const Doubles& gx = *reinterpret_cast<const Doubles*>(facets[i].gx);
        const Doubles& gy = *reinterpret_cast<const Doubles*>(facets[i].gy);
        const Doubles& gz = *reinterpret_cast<const Doubles*>(facets[i].gz);
        const Doubles& b = *reinterpret_cast<const Doubles*>(facets[i].b);
        const Doubles v = gx * q[0] + gy * q[1] + gz * q[2] + b;
        where = v > best ? here : where;
        best = v > best ? v : best;
        here += 8;
    }
    double m = best[0];
    long long index = where[0];
    for (int lane = 1; lane < 8; ++lane)
        if (best[lane] > m || (best[lane] == m && where[lane] < index)) {
            m = best[lane];
            index = where[lane];
        }
    *value = m;
    return static_cast<int>(index);
}

}  // namespace macle::scan
