#include "core/light/face_picture.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/parallel.h"
#include "core/base/part_progress.h"
#include "core/base/units.h"
#include "core/light/ray_stream.h"

namespace macle {
namespace {

constexpr int kPixelsPerPiece = 2048;
constexpr double kMargin = 1.04;  // of the picture around the stone

struct View {
    Eigen::Vector3d towards;  // the viewer
    Eigen::Vector3d right, up;
    Eigen::Vector3d middle;
    double half_mm = 0.0;  // of the picture
    double start_mm = 0.0;
};

View viewOf(const LightBody& body, const FacePictureOptions& options) {
    const double azimuth = radians(options.tiltAzimuth_deg);
    const Eigen::Vector3d axis(-std::sin(azimuth), std::cos(azimuth), 0.0);
    // The table leans towards the azimuth: seen from the stone, the viewer leans the other way.
    const Eigen::AngleAxisd turn(-radians(options.tilt_deg), axis);
    View view;
    view.towards = turn * Eigen::Vector3d::UnitZ();
    view.right = turn * Eigen::Vector3d::UnitX();
    view.up = turn * Eigen::Vector3d::UnitY();
    view.middle = body.bounds().centre();
    view.start_mm = body.bounds().extent().norm();
    // The stone as seen, in the middle of its square.
    Eigen::Array2d low = Eigen::Array2d::Constant(std::numeric_limits<double>::max()), high = -low;
    for (std::size_t part = 0; part < body.parts(); ++part)
        for (int face = 0; face < body.table(part).faces(); ++face)
            for (const Eigen::Vector3d& corner : body.table(part).corners(face)) {
                const Eigen::Vector3d at = corner - view.middle;
                const Eigen::Array2d seen(at.dot(view.right), at.dot(view.up));
                low = low.min(seen);
                high = high.max(seen);
            }
    view.middle += 0.5 * (low + high).x() * view.right + 0.5 * (low + high).y() * view.up;
    view.half_mm = kMargin * 0.5 * (high - low).maxCoeff();
    return view;
}

struct PixelSum {
    double seen = 0.0, path = 0.0, leaked = 0.0, remainder = 0.0;
};

struct PictureSink {
    const Eigen::Vector3d towards;
    Lighting lighting;
    std::vector<PixelSum>& pixels;

    static constexpr bool wants() { return false; }
    void leaves(std::uint32_t id, const Eigen::Vector3d&, const Eigen::Vector3d& direction,
                double power, double path, int, int, int) {
        const double cosine = direction.dot(towards);
        if (cosine <= 0.0) {
            pixels[id].leaked += power;
            return;
        }
        const double light = power * radiance(lighting, cosine);
        pixels[id].seen += light;
        pixels[id].path += light * path;
    }
    void loses(std::uint32_t id, light::Loss loss, double power) {
        if (loss == light::Loss::GivenUp) pixels[id].remainder += power;
    }
};

void check(const FacePictureOptions& options) {
    if (options.pixels < 8 || options.pixels > 4096)
        throw Error(
            ErrorCode::BadUsage,
            "A face-up picture of " + std::to_string(options.pixels) + " pixels is refused.",
            "Give 8 to 4096 along a side.");
    if (!(options.tilt_deg >= 0.0 && options.tilt_deg <= 80.0) ||
        !std::isfinite(options.tiltAzimuth_deg))
        throw Error(ErrorCode::BadUsage,
                    "A tilt of " + formatExact(options.tilt_deg) + " degrees is outside 0 to 80.",
                    "Give 0 for the stone face-up.");
    if (options.wavelengths_nm.size() > 401)
        throw Error(ErrorCode::BadUsage, "More than 401 wavelengths are asked for.",
                    "Nine show the dispersion.");
    for (const double nm : options.wavelengths_nm)
        if (!(nm >= 380.0 && nm <= 780.0))
            throw Error(ErrorCode::BadUsage, formatExact(nm) + " nm cannot be seen.",
                        "Give wavelengths of 380 to 780 nm.");
    if (options.spectrum) check(*options.spectrum);
}

// Sums over the pixels of one piece, then of all in order.
struct FaceSums {
    double count = 0.0, path = 0.0, seen = 0.0, leaked = 0.0, remainder = 0.0;
};

}  // namespace

FacePicture facePicture(const LightBody& body, const FacePictureOptions& options,
                        Progress* progress) {
    check(options);
    const std::vector<Xyz> weights = daylightWeights(options.wavelengths_nm);
    const View view = viewOf(body, options);
    const int n = options.pixels;
    const auto count = static_cast<std::size_t>(n) * static_cast<std::size_t>(n);
    FacePicture picture;
    picture.pixels = n;
    picture.pixel_mm = 2.0 * view.half_mm / n;
    picture.colour.resize(count);
    picture.leaked.resize(count);
    std::vector<char> face(count, 0);  // not bool: several threads write
    const auto pieces = static_cast<int>((count + kPixelsPerPiece - 1) / kPixelsPerPiece);
    std::vector<FaceSums> sums(static_cast<std::size_t>(pieces));
    forEachPiece(pieces, options.threads, progress, [&](int piece) {
        const std::size_t from = static_cast<std::size_t>(piece) * kPixelsPerPiece;
        const std::size_t to = std::min(count, from + kPixelsPerPiece);
        struct Start {
            light::OutsideRay ray;
            LightBody::Meeting meeting;
        };
        std::vector<Start> starts;
        for (std::size_t pixel = from; pixel < to; ++pixel) {
            const auto row = static_cast<int>(pixel / static_cast<std::size_t>(n));
            const auto column = static_cast<int>(pixel % static_cast<std::size_t>(n));
            Start start;
            start.ray.origin = view.middle + view.start_mm * view.towards +
                               ((column + 0.5) * picture.pixel_mm - view.half_mm) * view.right +
                               (view.half_mm - (row + 0.5) * picture.pixel_mm) * view.up;
            start.ray.direction = -view.towards;
            start.ray.id = static_cast<std::uint32_t>(pixel - from);
            start.meeting = body.firstMeeting(start.ray.origin, start.ray.direction);
            if (start.meeting.part < 0) continue;
            face[pixel] = 1;
            starts.push_back(start);
        }
        FaceSums& sum = sums[static_cast<std::size_t>(piece)];
        sum.count = static_cast<double>(starts.size());
        if (starts.empty()) return;
        for (std::size_t w = 0; w < weights.size(); ++w) {
            TraceOptions trace;
            trace.wavelength_nm = options.wavelengths_nm[w];
            trace.leastPower = options.leastPower;
            trace.bodies = options.bodies;
            if (options.spectrum)
                trace.absorption_per_mm = options.spectrum->perMm(trace.wavelength_nm);
            macle::check(trace);
            std::vector<PixelSum> pixels(to - from);
            PictureSink sink{view.towards, options.lighting, pixels};
            light::RayStream<PictureSink> stream(body, trace, sink);
            for (const Start& start : starts)
                stream.start(start.ray, start.meeting);
            stream.finish();
            const Xyz weight = weights[w];
            for (std::size_t k = 0; k < pixels.size(); ++k) {
                const PixelSum& p = pixels[k];
                Xyz& colour = picture.colour[from + k];
                colour.x += weight.x * p.seen;
                colour.y += weight.y * p.seen;
                colour.z += weight.z * p.seen;
                picture.leaked[from + k] += static_cast<float>(weight.y * p.leaked);
                sum.path += weight.y * p.path;
                sum.seen += weight.y * p.seen;
                sum.leaked += weight.y * p.leaked;
                sum.remainder += weight.y * p.remainder;
            }
        }
    });

    FaceSums all;
    for (const FaceSums& sum : sums) {
        all.count += sum.count;
        all.path += sum.path;
        all.seen += sum.seen;
        all.leaked += sum.leaked;
        all.remainder += sum.remainder;
    }
    picture.face.assign(face.begin(), face.end());
    require(all.count > 0.0, "the stone shows in its picture");
    FaceFigures& figures = picture.figures;
    double square = 0.0;
    Xyz colour;
    for (std::size_t k = 0; k < count; ++k) {
        if (!picture.face[k]) continue;
        const Xyz& c = picture.colour[k];
        colour = {colour.x + c.x, colour.y + c.y, colour.z + c.z};
        square += c.y * c.y;
    }
    figures.colour = {colour.x / all.count, colour.y / all.count, colour.z / all.count};
    figures.lab = toLab(figures.colour);
    figures.lightReturn = figures.colour.y;
    figures.leaked = all.leaked / all.count;
    figures.remainder = all.remainder / all.count;
    const double spread =
        std::max(0.0, square / all.count - figures.lightReturn * figures.lightReturn);
    figures.contrast = figures.lightReturn > 0.0 ? std::sqrt(spread) / figures.lightReturn : 0.0;
    figures.meanPath_mm = all.seen > 0.0 ? all.path / all.seen : 0.0;
    figures.faceArea_mm2 = all.count * picture.pixel_mm * picture.pixel_mm;
    return picture;
}

std::vector<TiltFigures> tiltSeries(const LightBody& body, const FacePictureOptions& options,
                                    double most_deg, int steps, Progress* progress) {
    if (steps < 1 || steps > 90)
        throw Error(ErrorCode::BadUsage, "A tilt series has 1 to 90 steps.", "Give 6 or so.");
    std::vector<TiltFigures> series;
    const int all = 2 * (steps + 1);
    for (int i = 0; i < all; ++i) {
        FacePictureOptions tilted = options;
        tilted.tilt_deg = most_deg * (i % (steps + 1)) / steps;
        tilted.tiltAzimuth_deg = i <= steps ? 0.0 : 90.0;
        PartProgress part(progress, static_cast<double>(i) / all, (i + 1.0) / all);
        const FaceFigures figures = facePicture(body, tilted, &part).figures;
        series.push_back({tilted.tilt_deg, tilted.tiltAzimuth_deg, figures.lightReturn,
                          figures.leaked, figures.contrast});
    }
    return series;
}

}  // namespace macle
