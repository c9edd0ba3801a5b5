#include "core/light/light_return.h"

#include <array>
#include <cmath>
#include <cstdint>
#include <string>
#include <vector>

#include "core/base/error.h"
#include "core/base/parallel.h"
#include "core/base/tolerance.h"
#include "core/light/ray_stream.h"

namespace macle {
namespace {

constexpr int kRaysPerPiece = 2048;
// A facet looks up when its normal rises by more than this: girdle facets are upright to rounding.
constexpr double kLooksUp = 1e-6;

struct CrownTriangle {
    Eigen::Vector3d corner, edge1, edge2, normal;
    int part = 0, facet = 0;
    double areaBefore = 0.0;  // of all triangles up to and with this one
};

std::vector<CrownTriangle> crownOf(const LightBody& body) {
    std::vector<CrownTriangle> crown;
    double area = 0.0;
    for (std::size_t part = 0; part < body.parts(); ++part) {
        const light::FacetTable& table = body.table(part);
        for (int face = 0; face < table.faces(); ++face) {
            if (table.normal(face).z() <= kLooksUp) continue;
            const auto& corners = table.corners(face);
            for (std::size_t i = 2; i < corners.size(); ++i) {
                CrownTriangle t{corners[0],
                                corners[i - 1] - corners[0],
                                corners[i] - corners[0],
                                table.normal(face),
                                static_cast<int>(part),
                                table.facetOf(face),
                                0.0};
                area += 0.5 * t.edge1.cross(t.edge2).norm();
                t.areaBefore = area;
                crown.push_back(t);
            }
        }
    }
    return crown;
}

// The n-th point of the unit cube of four dimensions: fractions of n times powers of the root of
// x^5 = x + 1, which are far from rational.
std::array<double, 4> spread(std::uint64_t n) {
    constexpr double kRoot = 1.1673039782614187;
    std::array<double, 4> at{};
    double step = 1.0;
    for (double& x : at) {
        step /= kRoot;
        const double whole = static_cast<double>(n) * step + 0.5;
        x = whole - std::floor(whole);
    }
    return at;
}

struct ReturnSink {
    const LightBody& body;
    LightReturn sum;

    static constexpr bool wants() { return false; }
    void leaves(std::uint32_t, const Eigen::Vector3d&, const Eigen::Vector3d& direction,
                double power, double, int part, int face, int) {
        const bool crown = body.table(static_cast<std::size_t>(part)).normal(face).z() > kLooksUp;
        if (crown && direction.z() > 0.0) {
            sum.returned += power;
            sum.weighted += power * direction.z() * direction.z();
        } else {
            sum.leaked += power;
        }
    }
    void loses(std::uint32_t, light::Loss loss, double power) {
        (loss == light::Loss::Glare      ? sum.glare
         : loss == light::Loss::Absorbed ? sum.absorbed
                                         : sum.remainder) += power;
    }
};

}  // namespace

LightReturn lightReturn(const LightBody& body, const LightReturnOptions& options,
                        Progress* progress) {
    if (options.rays < 100 || options.rays > 100'000'000)
        throw Error(ErrorCode::BadUsage,
                    "Light return is asked for with " + std::to_string(options.rays) + " rays.",
                    "Give 100 to 100 million.");
    TraceOptions trace;
    trace.wavelength_nm = options.wavelength_nm;
    trace.absorption_per_mm = options.absorption_per_mm;
    trace.leastPower = options.leastPower;
    check(trace);
    const std::vector<CrownTriangle> crown = crownOf(body);
    if (crown.empty())
        throw Error(ErrorCode::BadUsage, "No facet of the cut looks up.",
                    "Light return needs a crown or a table.");
    const double area = crown.back().areaBefore;

    const int pieces = (options.rays + kRaysPerPiece - 1) / kRaysPerPiece;
    std::vector<LightReturn> sums(static_cast<std::size_t>(pieces));
    std::vector<int> counts(static_cast<std::size_t>(pieces));
    forEachPiece(pieces, options.threads, progress, [&](int piece) {
        const auto p = static_cast<std::size_t>(piece);
        ReturnSink sink{body, {}};
        light::RayStream<ReturnSink> stream(body, trace, sink);
        const int to = std::min(options.rays, (piece + 1) * kRaysPerPiece);
        for (int n = piece * kRaysPerPiece; n < to; ++n) {
            const auto at = spread(static_cast<std::uint64_t>(n) + 1);
            // A place on the crown, even by area, and a direction by the cosine to its normal: so
            // diffuse light falls on it. What would come from below the horizon does not exist.
            const double before = at[0] * area;
            const auto triangle =
                std::lower_bound(crown.begin(), crown.end() - 1, before,
                                 [](const CrownTriangle& t, double a) { return t.areaBefore < a; });
            const double start = triangle == crown.begin() ? 0.0 : std::prev(triangle)->areaBefore;
            const double along = std::sqrt((before - start) / (triangle->areaBefore - start));
            const Eigen::Vector3d place = triangle->corner +
                                          along * (1.0 - at[1]) * triangle->edge1 +
                                          along * at[1] * triangle->edge2;
            const double sine = std::sqrt(at[2]), turn = 2.0 * M_PI * at[3];
            const Eigen::Vector3d a = triangle->normal.unitOrthogonal();
            const Eigen::Vector3d b = triangle->normal.cross(a);
            const Eigen::Vector3d from = sine * std::cos(turn) * a + sine * std::sin(turn) * b +
                                         std::sqrt(1.0 - at[2]) * triangle->normal;
            if (from.z() <= 0.0) continue;
            light::OutsideRay ray;
            ray.direction = -from.normalized();
            ray.origin = place - 4.0 * body.size_mm() * ray.direction;
            LightBody::Meeting meeting{triangle->part, triangle->facet, 4.0 * body.size_mm(),
                                       triangle->normal};
            // In a union the place may lie within another part, or in its shade.
            if (body.parts() > 1) {
                const auto first = body.firstMeeting(ray.origin, ray.direction);
                if (first.part < 0 ||
                    std::abs(first.distance_mm - meeting.distance_mm) > tolerance::kInside_mm)
                    continue;
            }
            ++counts[p];
            stream.start(ray, meeting);
        }
        stream.finish();
        sums[p] = sink.sum;
    });
    LightReturn total;
    double count = 0.0;
    for (std::size_t p = 0; p < sums.size(); ++p) {
        count += counts[p];
        total.weighted += sums[p].weighted;
        total.returned += sums[p].returned;
        total.leaked += sums[p].leaked;
        total.glare += sums[p].glare;
        total.absorbed += sums[p].absorbed;
        total.remainder += sums[p].remainder;
    }
    require(count > 0.0, "some light falls on the crown");
    for (double* share : {&total.weighted, &total.returned, &total.leaked, &total.glare,
                          &total.absorbed, &total.remainder})
        *share /= count;
    return total;
}

}  // namespace macle
