// One loop over all rays without a branch, compiled for several vector widths.
#include <cmath>

#include "core/base/vector_width.h"
#include "core/light/ray_batch.h"

namespace macle::light {

namespace {

// Below this square of the sine the plane of incidence is not told apart from any other, nor do
// the two polarisations differ: their reflectances differ by about its size.
constexpr double kStraight = 1e-24;

}  // namespace

MACLE_MANY_WIDTHS
void crossFaces(double index, RayBatch& rays) {
    const double n = index;
    double* __restrict ox = rays.ox;
    double* __restrict oy = rays.oy;
    double* __restrict oz = rays.oz;
    double* __restrict dx = rays.dx;
    double* __restrict dy = rays.dy;
    double* __restrict dz = rays.dz;
    double* __restrict pi = rays.i;
    double* __restrict pq = rays.q;
    double* __restrict pu = rays.u;
    double* __restrict pv = rays.v;
    double* __restrict rx = rays.rx;
    double* __restrict ry = rays.ry;
    double* __restrict rz = rays.rz;
    double* __restrict path = rays.path;
    const double* __restrict nx = rays.nx;
    const double* __restrict ny = rays.ny;
    const double* __restrict nz = rays.nz;
    const double* __restrict time = rays.t;
    double* __restrict outX = rays.outX;
    double* __restrict outY = rays.outY;
    double* __restrict outZ = rays.outZ;
    double* __restrict outI = rays.outI;
    double* __restrict outQ = rays.outQ;
    double* __restrict outU = rays.outU;
    double* __restrict outV = rays.outV;
    // Whole vectors: lanes past the count hold rays long gone, whose figures nobody reads.
    const int count = (rays.count + 7) / 8 * 8;
    for (int k = 0; k < count; ++k) {
        const double x = dx[k], y = dy[k], z = dz[k];
        const double fx = nx[k], fy = ny[k], fz = nz[k];
        const double c = x * fx + y * fy + z * fz;
        // The s axis, across the plane of incidence; its length is the sine.
        const double ax = y * fz - z * fy, ay = z * fx - x * fz, az = x * fy - y * fx;
        const double sine2 = ax * ax + ay * ay + az * az;
        const bool straight = sine2 < kStraight;
        const double scale = 1.0 / std::sqrt(straight ? 1.0 : sine2);
        const double sx = straight ? rx[k] : ax * scale;
        const double sy = straight ? ry[k] : ay * scale;
        const double sz = straight ? rz[k] : az * scale;
        // The angle from the old s axis to the new, about the ray.
        const double cosine = rx[k] * sx + ry[k] * sy + rz[k] * sz;
        const double bx = y * rz[k] - z * ry[k], by = z * rx[k] - x * rz[k],
                     bz = x * ry[k] - y * rx[k];
        const double sine = bx * sx + by * sy + bz * sz;
        const double c2 = cosine * cosine - sine * sine, s2 = 2.0 * cosine * sine;
        const double i = pi[k], v = pv[k];
        const double q = pq[k] * c2 + pu[k] * s2;
        const double u = pu[k] * c2 - pq[k] * s2;

        const double beyond = 1.0 - n * n * sine2;
        const double ct = std::sqrt(beyond > 0.0 ? beyond : 0.0);
        const double kappa = std::sqrt(beyond < 0.0 ? -beyond : 0.0);
        const double rs = (n * c - ct) / (n * c + ct);
        const double rp = (c - n * ct) / (c + n * ct);
        // Phase between s and p at total reflection: twice that of (a - ib)(c + ie).
        const double a = n * c, e = n * kappa;
        const double re = a * c + kappa * e, im = a * e - kappa * c;
        const double both = rs * rp / (re * re + im * im);
        const double cosPhase = (re * re - im * im) * both, sinPhase = 2.0 * re * im * both;
        const double half = 0.5 * (rs * rs + rp * rp), odd = 0.5 * (rs * rs - rp * rp);
        const double i1 = half * i + odd * q, q1 = odd * i + half * q;
        const double through = std::sqrt((1.0 - rs * rs) * (1.0 - rp * rp));

        pi[k] = i1;
        pq[k] = q1;
        pu[k] = cosPhase * u - sinPhase * v;
        pv[k] = sinPhase * u + cosPhase * v;
        outI[k] = beyond > 0.0 ? i - i1 : 0.0;
        outQ[k] = q - q1;
        outU[k] = through * u;
        outV[k] = through * v;
        const double bend = ct - n * c;
        outX[k] = n * x + bend * fx;
        outY[k] = n * y + bend * fy;
        outZ[k] = n * z + bend * fz;
        const double t = time[k];
        ox[k] += t * x;
        oy[k] += t * y;
        oz[k] += t * z;
        path[k] += t;
        const double turn = 2.0 * c;
        dx[k] = x - turn * fx;
        dy[k] = y - turn * fy;
        dz[k] = z - turn * fz;
        rx[k] = sx;
        ry[k] = sy;
        rz[k] = sz;
    }
}

}  // namespace macle::light
