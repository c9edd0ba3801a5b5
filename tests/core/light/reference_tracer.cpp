#include "tests/core/light/reference_tracer.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <deque>
#include <limits>
#include <optional>

namespace macle::test {
namespace {

using Real = long double;
using Vector = Eigen::Matrix<Real, 3, 1>;
using Complex = std::complex<Real>;
using Field = Eigen::Matrix<Complex, 3, 1>;

struct Interval {
    Real from, to;
    Vector normalFrom, normalTo;  // outward
};

std::optional<Interval> clip(const ConvexPart& part, Real size, const Vector& o, const Vector& d) {
    Interval interval{-std::numeric_limits<Real>::max(), std::numeric_limits<Real>::max(), {}, {}};
    for (const Facet& facet : part.facets) {
        const Vector n = facet.normal.cast<Real>();
        const Real speed = n.dot(d), room = size * static_cast<Real>(facet.distance) - n.dot(o);
        if (speed == 0) {
            if (room < 0) return std::nullopt;
            continue;
        }
        const Real t = room / speed;
        if (speed > 0 && t < interval.to) interval.to = t, interval.normalTo = n;
        if (speed < 0 && t > interval.from) interval.from = t, interval.normalFrom = n;
    }
    if (interval.from >= interval.to) return std::nullopt;
    return interval;
}

// The union's stretches along the line, merged.
std::vector<Interval> stretches(const Design& design, Real size, const Vector& o, const Vector& d) {
    const Real near = 1e-9L * size;
    std::vector<Interval> all;
    for (const ConvexPart& part : design.parts)
        if (const auto interval = clip(part, size, o, d)) all.push_back(*interval);
    std::sort(all.begin(), all.end(),
              [](const Interval& a, const Interval& b) { return a.from < b.from; });
    std::vector<Interval> merged;
    for (const Interval& next : all) {
        if (!merged.empty() && next.from <= merged.back().to + near) {
            if (next.to > merged.back().to) {
                merged.back().to = next.to;
                merged.back().normalTo = next.normalTo;
            }
        } else {
            merged.push_back(next);
        }
    }
    return merged;
}

struct Wave {
    Vector origin, direction;
    Field fields[2];  // their squared lengths are powers
    Real path = 0;
    int hits = 0;
    bool inside = false;
    bool first = false;
};

Real power(const Wave& wave) {
    return (wave.fields[0].squaredNorm() + wave.fields[1].squaredNorm()) / 2;
}

struct Halves {
    Wave back, through;
    bool total = false;
};

// `n` along the way of the wave.
Halves atFace(const Wave& wave, const Vector& n, Real n1, Real n2) {
    const Real c = wave.direction.dot(n);
    const Vector cross = wave.direction.cross(n);
    const Vector s = cross.normalized();
    const Complex theta1 = std::asin(Complex(cross.norm()));
    const Complex theta2 = std::asin(Complex(n1 / n2 * cross.norm()));
    const Complex rs = -std::sin(theta1 - theta2) / std::sin(theta1 + theta2);
    const Complex rp = std::tan(theta1 - theta2) / std::tan(theta1 + theta2);
    Halves halves;
    halves.total = n1 / n2 * cross.norm() >= 1;
    halves.back = halves.through = wave;
    halves.back.direction = wave.direction - 2 * c * n;
    const Vector p = s.cross(wave.direction), pBack = s.cross(halves.back.direction);
    Complex ts = 0, tp = 0;
    Vector pThrough = Vector::Zero();
    if (!halves.total) {
        const Real c2 = std::cos(theta2).real();
        halves.through.direction = ((n1 / n2) * (wave.direction - c * n) + c2 * n).normalized();
        pThrough = s.cross(halves.through.direction);
        // What is not thrown back goes through.
        ts = std::sqrt(1 - std::norm(rs));
        tp = std::sqrt(1 - std::norm(rp));
    }
    for (int i = 0; i < 2; ++i) {
        const Complex es = s.cast<Complex>().conjugate().dot(wave.fields[i]);
        const Complex ep = p.cast<Complex>().conjugate().dot(wave.fields[i]);
        halves.back.fields[i] = rs * es * s.cast<Complex>() + rp * ep * pBack.cast<Complex>();
        halves.through.fields[i] = ts * es * s.cast<Complex>() + tp * ep * pThrough.cast<Complex>();
    }
    return halves;
}

}  // namespace

ReferenceAccount followByFields(const Design& design, double size_mm, double index,
                                double absorption_per_mm, const Eigen::Vector3d& origin,
                                const Eigen::Vector3d& direction, double leastPower, int mostHits) {
    const Real size = size_mm, n = index, near = 1e-9L * size;
    ReferenceAccount account;
    Wave start;
    start.origin = origin.cast<Real>();
    start.direction = direction.cast<Real>().normalized();
    const Vector a = start.direction.unitOrthogonal();
    start.fields[0] = a.cast<Complex>();
    start.fields[1] = start.direction.cross(a).cast<Complex>();
    start.first = true;
    std::deque<Wave> waves{start};
    while (!waves.empty()) {
        Wave wave = waves.front();
        waves.pop_front();
        const auto line = stretches(design, size, wave.origin, wave.direction);
        if (!wave.inside) {
            const auto next = std::find_if(line.begin(), line.end(), [&](const Interval& i) {
                return i.from > (wave.first ? 0 : near);
            });
            const bool goesOn = !wave.first && (power(wave) < static_cast<Real>(leastPower) ||
                                                wave.hits >= mostHits);
            if (next == line.end() || goesOn) {
                if (!wave.first)
                    account.leaving.push_back({wave.direction.cast<double>(),
                                               static_cast<double>(power(wave)),
                                               static_cast<double>(wave.path), wave.hits});
                continue;
            }
            account.met = true;
            wave.origin += next->from * wave.direction;
            Halves halves = atFace(wave, -next->normalFrom, 1, n);
            if (wave.first)
                account.glare = static_cast<double>(power(halves.back));
            else
                waves.push_back(halves.back);
            halves.through.first = false;
            halves.through.inside = true;
            waves.push_back(halves.through);
            continue;
        }
        const Interval* own = nullptr;
        for (const Interval& i : line)
            if (i.from <= near && i.to > -near && (!own || i.to > own->to)) own = &i;
        const Real t = std::max<Real>(own->to, 0);
        const Real share = std::exp(-static_cast<Real>(absorption_per_mm) * t);
        account.absorbed += static_cast<double>(power(wave) * (1 - share));
        for (Field& field : wave.fields)
            field *= std::sqrt(share);
        wave.origin += t * wave.direction;
        wave.path += t;
        ++wave.hits;
        const Halves halves = atFace(wave, own->normalTo, n, 1);
        if (!halves.total) {
            Wave out = halves.through;
            out.inside = false;
            waves.push_back(out);
        }
        if (power(halves.back) < static_cast<Real>(leastPower) || wave.hits >= mostHits)
            account.remainder += static_cast<double>(power(halves.back));
        else
            waves.push_back(halves.back);
    }
    return account;
}

}  // namespace macle::test
