#include "core/light/trace.h"

#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/parallel.h"
#include "core/light/ray_stream.h"

namespace macle {
namespace {

constexpr std::size_t kRaysPerPiece = 1024;

struct AccountSink {
    const LightBody& body;
    RayAccount* accounts;  // of this piece; ids count from its first

    static constexpr bool wants() { return false; }
    void leaves(std::uint32_t id, const Eigen::Vector3d& point, const Eigen::Vector3d& direction,
                double power, double path, int part, int face, int hits) {
        const int facet = body.table(static_cast<std::size_t>(part)).facetOf(face);
        accounts[id].leaving.push_back({point, direction, power, path, part, facet, hits});
    }
    void loses(std::uint32_t id, light::Loss loss, double power) {
        RayAccount& account = accounts[id];
        switch (loss) {
            case light::Loss::Glare:
                account.glare += power;
                break;
            case light::Loss::Absorbed:
                account.absorbed += power;
                break;
            case light::Loss::Blocked:
                account.blocked += power;
                break;
            case light::Loss::GivenUp:
                account.remainder += power;
                break;
        }
    }
};

struct WaySink {
    const LightBody& body;
    std::vector<WayInside>& way;

    static constexpr bool wants() { return true; }
    bool stretch(std::uint32_t, const light::Stretch& s) {
        const int facet = body.table(static_cast<std::size_t>(s.part)).facetOf(s.face);
        way.push_back({s.origin, s.origin + s.length * s.direction, s.power, s.part, facet});
        return true;
    }
    void leaves(std::uint32_t, const Eigen::Vector3d&, const Eigen::Vector3d&, double, double, int,
                int, int) {}
    void loses(std::uint32_t, light::Loss, double) {}
};

[[noreturn]] void refuse(const std::string& what, const std::string& remedy) {
    throw Error(ErrorCode::BadUsage, what, remedy);
}

}  // namespace

void check(const TraceOptions& options) {
    if (!(options.wavelength_nm >= 226.0 && options.wavelength_nm <= 1200.0))
        refuse("A wavelength of " + formatExact(options.wavelength_nm) +
                   " nm is outside 226 to 1200 nm.",
               "Visible light is 380 to 780 nm.");
    if (!(options.absorption_per_mm >= 0.0) || !std::isfinite(options.absorption_per_mm))
        refuse("The absorption is " + formatExact(options.absorption_per_mm) + " per mm.",
               "Give 0 or more.");
    if (!(options.leastPower >= 0.0 && options.leastPower <= 1.0))
        refuse("The least power is " + formatExact(options.leastPower) + ".", "Give 0 to 1.");
    if (options.mostHits < 1 || options.mostHits > 100000)
        refuse("Rays are followed over " + std::to_string(options.mostHits) + " faces.",
               "Give 1 to 100000.");
}

double RayAccount::left() const {
    double sum = 0.0;
    for (const LeavingLight& light : leaving)
        sum += light.power;
    return sum;
}

namespace {

void check(const LightBody& body, const LightRay& ray) {
    // A direction may be off length 1 by rounding only.
    if (!ray.origin_mm.allFinite() || !(std::abs(ray.direction.norm() - 1.0) < 1e-9))
        refuse("A ray has no finite origin or no direction of length 1.", "Normalise it.");
    if (body.contains(ray.origin_mm)) refuse("A ray starts inside the stone.", "Start it outside.");
}

}  // namespace

std::vector<WayInside> wayInside(const LightBody& body, const LightRay& ray,
                                 const TraceOptions& options) {
    check(options);
    check(body, ray);
    std::vector<WayInside> way;
    const auto meeting = body.firstMeeting(ray.origin_mm, ray.direction);
    if (meeting.part < 0) return way;
    WaySink sink{body, way};
    light::RayStream<WaySink> stream(body, options, sink);
    light::OutsideRay outside;
    outside.origin = ray.origin_mm;
    outside.direction = ray.direction;
    stream.start(outside, meeting);
    stream.finish();
    return way;
}

std::vector<RayAccount> traceRays(const LightBody& body, const std::vector<LightRay>& rays,
                                  const TraceOptions& options, int threads, Progress* progress) {
    check(options);
    for (const LightRay& ray : rays)
        check(body, ray);
    std::vector<RayAccount> accounts(rays.size());
    const auto pieces = static_cast<int>((rays.size() + kRaysPerPiece - 1) / kRaysPerPiece);
    forEachPiece(pieces, threads, progress, [&](int piece) {
        const std::size_t from = static_cast<std::size_t>(piece) * kRaysPerPiece;
        const std::size_t to = std::min(rays.size(), from + kRaysPerPiece);
        AccountSink sink{body, accounts.data() + from};
        light::RayStream<AccountSink> stream(body, options, sink);
        for (std::size_t r = from; r < to; ++r) {
            const auto meeting = body.firstMeeting(rays[r].origin_mm, rays[r].direction);
            if (meeting.part < 0) continue;
            accounts[r].met = true;
            light::OutsideRay ray;
            ray.origin = rays[r].origin_mm;
            ray.direction = rays[r].direction;
            ray.id = static_cast<std::uint32_t>(r - from);
            stream.start(ray, meeting);
        }
        stream.finish();
    });
    return accounts;
}

}  // namespace macle
