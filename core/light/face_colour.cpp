#include "core/light/face_colour.h"

#include <cmath>
#include <string>

#include "core/base/error.h"
#include "core/base/parallel.h"
#include "core/light/ray_stream.h"

namespace macle {
namespace {

constexpr int kRaysPerPiece = 1024;

struct Sums {
    double seen = 0.0, path = 0.0, leaked = 0.0;
};

struct ColourSink {
    Lighting lighting;
    Sums sums;

    static constexpr bool wants() { return false; }
    void leaves(std::uint32_t, const Eigen::Vector3d&, const Eigen::Vector3d& direction,
                double power, double path, int, int, int) {
        if (direction.z() <= 0.0) {
            sums.leaked += power;
            return;
        }
        const double light = power * radiance(lighting, direction.z());
        sums.seen += light;
        sums.path += light * path;
    }
    void loses(std::uint32_t, light::Loss, double) {}
};

struct Piece {
    int met = 0;
    std::vector<Sums> byWavelength;
};

}  // namespace

FaceColour faceColour(const LightBody& body, const AbsorptionSpectrum& spectrum,
                      const FaceColourOptions& options, Progress* progress) {
    if (options.rays < 50 || options.rays > 10'000'000)
        throw Error(ErrorCode::BadUsage,
                    "Face-up colour is asked for with " + std::to_string(options.rays) + " rays.",
                    "Give 50 to 10 million.");
    check(spectrum);
    const std::vector<Xyz> weights = daylightWeights(options.wavelengths_nm);
    std::vector<TraceOptions> traces;
    for (const double nm : options.wavelengths_nm) {
        TraceOptions trace;
        trace.wavelength_nm = nm;
        trace.absorption_per_mm = spectrum.perMm(nm);
        trace.leastPower = options.leastPower;
        check(trace);
        traces.push_back(trace);
    }
    const Box& box = body.bounds();
    const Eigen::Vector3d extent = box.extent();
    const double start_z = box.high.z() + body.size_mm();

    const int pieces = (options.rays + kRaysPerPiece - 1) / kRaysPerPiece;
    std::vector<Piece> results(static_cast<std::size_t>(pieces));
    forEachPiece(pieces, options.threads, progress, [&](int number) {
        Piece& piece = results[static_cast<std::size_t>(number)];
        piece.byWavelength.resize(traces.size());
        std::vector<std::pair<light::OutsideRay, LightBody::Meeting>> starts;
        const int to = std::min(options.rays, (number + 1) * kRaysPerPiece);
        for (int i = number * kRaysPerPiece; i < to; ++i) {
            // Fractions of i over the root of x^3 = x + 1 and over its square: spread evenly.
            constexpr double kRoot = 1.3247179572447460;
            const double u = i / kRoot, v = i / (kRoot * kRoot);
            light::OutsideRay ray;
            ray.origin = {box.low.x() + (u - std::floor(u)) * extent.x(),
                          box.low.y() + (v - std::floor(v)) * extent.y(), start_z};
            ray.direction = {0.0, 0.0, -1.0};
            const auto meeting = body.firstMeeting(ray.origin, ray.direction);
            if (meeting.part >= 0) starts.emplace_back(ray, meeting);
        }
        piece.met = static_cast<int>(starts.size());
        for (std::size_t w = 0; w < traces.size(); ++w) {
            ColourSink sink{options.lighting, {}};
            light::RayStream<ColourSink> stream(body, traces[w], sink);
            for (const auto& [ray, meeting] : starts)
                stream.start(ray, meeting);
            stream.finish();
            piece.byWavelength[w] = sink.sums;
        }
    });

    FaceColour face;
    double met = 0.0, path = 0.0;
    for (const Piece& piece : results) {
        met += piece.met;
        for (std::size_t w = 0; w < weights.size(); ++w) {
            const Sums& sums = piece.byWavelength[w];
            face.colour.x += weights[w].x * sums.seen;
            face.colour.y += weights[w].y * sums.seen;
            face.colour.z += weights[w].z * sums.seen;
            face.leaked += weights[w].y * sums.leaked;
            path += weights[w].y * sums.path;
        }
    }
    require(met > 0.0, "rays from above meet the stone");
    face.meanPath_mm = face.colour.y > 0.0 ? path / face.colour.y : 0.0;
    face.colour = {face.colour.x / met, face.colour.y / met, face.colour.z / met};
    face.leaked /= met;
    face.lab = toLab(face.colour);
    face.srgb = toSrgb(face.colour);
    return face;
}

FaceColour faceColour(const Design& design, double size_mm, const Material& material,
                      const AbsorptionSpectrum& spectrum, const FaceColourOptions& options,
                      Progress* progress) {
    return faceColour(LightBody(design, size_mm, material), spectrum, options, progress);
}

}  // namespace macle
