// Where a ray inside a stone leaves it: our search over the faces against Embree, which finds the
// nearest triangle of any scene. The same solid and the same stretches: all those of the rays that
// make a face-up picture, sorted by reflection and pixel so that packets find neighbours together.
// Embree works in single precision, robust, with its triangles in the cache; ours in double.
#include <embree3/rtcore.h>
#include <pmmintrin.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <limits>
#include <memory>
#include <vector>

#include "core/cut/library.h"
#include "core/light/face_picture.h"
#include "core/light/facet_table.h"
#include "core/light/light_return.h"
#include "core/light/ray_batch.h"
#include "core/light/trace.h"
#include "tests/bench/measurements.h"

namespace macle::bench {
namespace {

constexpr double kSize_mm = 6.5;
constexpr int kRaster = 128;

struct Stretch {
    Eigen::Vector3d from, direction;
    int startFace = 0;  // of the table
    int endFacet = 0;   // of the part
};

const Design& cut() {
    static const Design design = makeDesign("round", {});
    return design;
}

const LightBody& body() {
    static const LightBody stone(cut(), kSize_mm, loadMaterial("diamond"));
    return stone;
}

const std::vector<Stretch>& stretches() {
    static const std::vector<Stretch> all = [] {
        std::vector<std::vector<Stretch>> byReflection;
        TraceOptions options;
        options.leastPower = 5e-3;
        for (int y = 0; y < kRaster; ++y)
            for (int x = 0; x < kRaster; ++x) {
                const Eigen::Vector3d from(((x + 0.5) / kRaster - 0.5) * kSize_mm,
                                           ((y + 0.5) / kRaster - 0.5) * kSize_mm, kSize_mm);
                const auto meeting = body().firstMeeting(from, -Eigen::Vector3d::UnitZ());
                if (meeting.part < 0) continue;
                int start = meeting.facet;
                const auto way = wayInside(body(), {from, -Eigen::Vector3d::UnitZ()}, options);
                for (std::size_t i = 0; i < way.size(); ++i) {
                    if (byReflection.size() <= i) byReflection.emplace_back();
                    byReflection[i].push_back({way[i].from_mm,
                                               (way[i].to_mm - way[i].from_mm).normalized(),
                                               body().table(0).faceOf(start), way[i].facet});
                    start = way[i].facet;
                }
            }
        std::vector<Stretch> sorted;
        for (const auto& stage : byReflection)
            sorted.insert(sorted.end(), stage.begin(), stage.end());
        sorted.resize(sorted.size() / light::RayBatch::kCapacity * light::RayBatch::kCapacity);
        return sorted;
    }();
    return all;
}

void reportAgreement(benchmark::State& state, std::size_t agreeing) {
    state.counters["agree_percent"] =
        100.0 * static_cast<double>(agreeing) / static_cast<double>(stretches().size());
    state.counters["rays"] = benchmark::Counter(static_cast<double>(stretches().size()),
                                                benchmark::Counter::kIsIterationInvariantRate);
}

// The rays stand in columns, as Embree's stand in packets ready made, and are copied into the batch
// that the tracer works in; so is the face each starts on, which the tracer knows.
void lightHitOurs(benchmark::State& state) {
    constexpr std::size_t kBatch = light::RayBatch::kCapacity;
    std::array<std::vector<double>, 6> columns;
    std::vector<std::int32_t> starts, ends(stretches().size());
    for (const Stretch& s : stretches()) {
        for (std::size_t axis = 0; axis < 3; ++axis) {
            columns[axis].push_back(s.from[static_cast<int>(axis)]);
            columns[3 + axis].push_back(s.direction[static_cast<int>(axis)]);
        }
        starts.push_back(s.startFace);
    }
    const auto batch = std::make_unique<light::RayBatch>();
    batch->count = static_cast<int>(kBatch);
    const std::array<double*, 6> fields{batch->ox, batch->oy, batch->oz,
                                        batch->dx, batch->dy, batch->dz};
    for (auto _ : state) {
        for (std::size_t from = 0; from < starts.size(); from += kBatch) {
            for (std::size_t f = 0; f < fields.size(); ++f)
                std::copy_n(columns[f].data() + from, kBatch, fields[f]);
            std::copy_n(starts.data() + from, kBatch, batch->face);
            light::meetFaces(body().tables(), *batch);
            std::copy_n(batch->face, kBatch, ends.data() + from);
        }
        benchmark::ClobberMemory();
    }
    std::size_t agreeing = 0;
    for (std::size_t i = 0; i < ends.size(); ++i)
        if (body().table(0).facetOf(ends[i]) == stretches()[i].endFacet) ++agreeing;
    reportAgreement(state, agreeing);
}
BENCHMARK(lightHitOurs)->Unit(benchmark::kMillisecond)->Repetitions(5);

class EmbreeScene {
  public:
    EmbreeScene() {
        _MM_SET_FLUSH_ZERO_MODE(_MM_FLUSH_ZERO_ON);
        _MM_SET_DENORMALS_ZERO_MODE(_MM_DENORMALS_ZERO_ON);
        device_ = rtcNewDevice("threads=1");
        scene_ = rtcNewScene(device_);
        rtcSetSceneFlags(scene_, RTC_SCENE_FLAG_ROBUST);
        rtcSetSceneBuildQuality(scene_, RTC_BUILD_QUALITY_HIGH);
        const ConvexSolid solid = makeSolid(cut().parts.front());
        std::vector<std::array<unsigned, 3>> triangles;
        for (const SolidFace& face : solid.faces)
            for (std::size_t i = 2; i < face.corners.size(); ++i) {
                triangles.push_back({static_cast<unsigned>(face.corners[0]),
                                     static_cast<unsigned>(face.corners[i - 1]),
                                     static_cast<unsigned>(face.corners[i])});
                facetOf_.push_back(face.facet);
            }
        RTCGeometry geometry = rtcNewGeometry(device_, RTC_GEOMETRY_TYPE_TRIANGLE);
        auto* vertices = static_cast<float*>(
            rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3,
                                    3 * sizeof(float), solid.vertices.size()));
        for (const Eigen::Vector3d& v : solid.vertices)
            for (int axis = 0; axis < 3; ++axis)
                *vertices++ = static_cast<float>(kSize_mm * v[axis]);
        auto* indices = static_cast<unsigned*>(
            rtcSetNewGeometryBuffer(geometry, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3,
                                    3 * sizeof(unsigned), triangles.size()));
        for (const auto& triangle : triangles)
            for (const unsigned corner : triangle)
                *indices++ = corner;
        rtcCommitGeometry(geometry);
        rtcAttachGeometry(scene_, geometry);
        rtcReleaseGeometry(geometry);
        rtcCommitScene(scene_);
    }
    ~EmbreeScene() {
        rtcReleaseScene(scene_);
        rtcReleaseDevice(device_);
    }
    EmbreeScene(const EmbreeScene&) = delete;
    EmbreeScene& operator=(const EmbreeScene&) = delete;

    RTCScene scene() const { return scene_; }
    bool agrees(unsigned triangle, const Stretch& s) const {
        return triangle < facetOf_.size() && facetOf_[triangle] == s.endFacet;
    }

  private:
    RTCDevice device_ = nullptr;
    RTCScene scene_ = nullptr;
    std::vector<int> facetOf_;
};

// The start lies on a triangle, which single precision would meet again: skipped by this much.
constexpr float kSkip_mm = 1e-4F;

template <class RayHit, class At>
void set(RayHit& r, const Stretch& s, const At& at) {
    at(r.ray.org_x) = static_cast<float>(s.from.x());
    at(r.ray.org_y) = static_cast<float>(s.from.y());
    at(r.ray.org_z) = static_cast<float>(s.from.z());
    at(r.ray.dir_x) = static_cast<float>(s.direction.x());
    at(r.ray.dir_y) = static_cast<float>(s.direction.y());
    at(r.ray.dir_z) = static_cast<float>(s.direction.z());
    at(r.ray.tnear) = kSkip_mm;
    at(r.ray.time) = 0.0F;
    at(r.ray.mask) = ~0U;
    at(r.ray.flags) = 0;
}

RTCIntersectContext contextOf(bool coherent) {
    RTCIntersectContext context;
    rtcInitIntersectContext(&context);
    context.flags =
        coherent ? RTC_INTERSECT_CONTEXT_FLAG_COHERENT : RTC_INTERSECT_CONTEXT_FLAG_INCOHERENT;
    return context;
}

void lightHitEmbree1(benchmark::State& state) {
    const EmbreeScene embree;
    std::vector<RTCRayHit> rays(stretches().size());
    for (std::size_t i = 0; i < rays.size(); ++i)
        set(
            rays[i], stretches()[i], [](auto& field) -> auto& { return field; });
    RTCIntersectContext context = contextOf(state.range(0) != 0);
    for (auto _ : state) {
        for (RTCRayHit& r : rays) {
            r.ray.tfar = std::numeric_limits<float>::infinity();
            r.hit.geomID = r.hit.instID[0] = RTC_INVALID_GEOMETRY_ID;
            rtcIntersect1(embree.scene(), &context, &r);
        }
        benchmark::ClobberMemory();
    }
    std::size_t agreeing = 0;
    for (std::size_t i = 0; i < rays.size(); ++i)
        if (embree.agrees(rays[i].hit.primID, stretches()[i])) ++agreeing;
    reportAgreement(state, agreeing);
}
BENCHMARK(lightHitEmbree1)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->Repetitions(5);

template <class Packet, int kWidth, class Intersect>
void embreePackets(benchmark::State& state, const Intersect& intersect) {
    const EmbreeScene embree;
    std::vector<Packet> packets(stretches().size() / kWidth);
    alignas(64) int valid[kWidth];
    for (int& lane : valid)
        lane = -1;
    for (std::size_t i = 0; i < packets.size() * kWidth; ++i)
        set(
            packets[i / kWidth],
            stretches()[i], [&](auto& field) -> auto& { return field[i % kWidth]; });
    RTCIntersectContext context = contextOf(state.range(0) != 0);
    for (auto _ : state) {
        for (Packet& p : packets) {
            for (int k = 0; k < kWidth; ++k) {
                p.ray.tfar[k] = std::numeric_limits<float>::infinity();
                p.hit.geomID[k] = p.hit.instID[0][k] = RTC_INVALID_GEOMETRY_ID;
            }
            intersect(valid, embree.scene(), &context, &p);
        }
        benchmark::ClobberMemory();
    }
    std::size_t agreeing = 0;
    for (std::size_t i = 0; i < packets.size() * kWidth; ++i)
        if (embree.agrees(packets[i / kWidth].hit.primID[i % kWidth], stretches()[i])) ++agreeing;
    reportAgreement(state, agreeing);
}

void lightHitEmbree8(benchmark::State& state) {
    embreePackets<RTCRayHit8, 8>(state, rtcIntersect8);
}
void lightHitEmbree16(benchmark::State& state) {
    embreePackets<RTCRayHit16, 16>(state, rtcIntersect16);
}
BENCHMARK(lightHitEmbree8)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->Repetitions(5);
BENCHMARK(lightHitEmbree16)->Arg(0)->Arg(1)->Unit(benchmark::kMillisecond)->Repetitions(5);

// Nine wavelengths, dispersion, polarisation. Processor time on one thread, and the least time that
// passed with all threads.
void lightPicture512(benchmark::State& state) {
    FacePictureOptions one;
    one.threads = 1;
    for (auto _ : state)
        benchmark::DoNotOptimize(facePicture(body(), one).figures.lightReturn);
    double least = std::numeric_limits<double>::infinity();
    for (int i = 0; i < 3; ++i) {
        const auto start = std::chrono::steady_clock::now();
        benchmark::DoNotOptimize(facePicture(body()).figures.lightReturn);
        const std::chrono::duration<double, std::milli> passed =
            std::chrono::steady_clock::now() - start;
        least = std::min(least, passed.count());
    }
    state.counters["elapsed_ms"] = least;
}
BENCHMARK(lightPicture512)->Unit(benchmark::kMillisecond)->Repetitions(3);

// One core, the table of the cut made anew.
void lightReturnOnce(benchmark::State& state) {
    LightReturnOptions options;
    options.threads = 1;
    for (auto _ : state) {
        const LightBody stone(cut(), kSize_mm, loadMaterial("diamond"));
        benchmark::DoNotOptimize(lightReturn(stone, options).weighted);
    }
}
BENCHMARK(lightReturnOnce)->Unit(benchmark::kMillisecond)->Repetitions(5);

std::optional<double> bestEmbreeOverOurs(const Measurements& m) {
    const auto ours = m.seconds("lightHitOurs");
    std::optional<double> best;
    for (const char* name : {"lightHitEmbree1/0", "lightHitEmbree1/1", "lightHitEmbree8/0",
                             "lightHitEmbree8/1", "lightHitEmbree16/0", "lightHitEmbree16/1"})
        if (const auto seconds = m.seconds(name); seconds && (!best || *seconds < *best))
            best = seconds;
    if (!ours || !best) return std::nullopt;
    return *best / *ours;
}

const bool listed = [] {
    figures().push_back({"rays inside a stone per second over Embree's best call",
                         "light_rays_over_embree", "x", Figure::Goal::AtLeast, 3.0,
                         bestEmbreeOverOurs});
    figures().push_back({"the same facet found as by Embree's single rays", "light_embree_agrees",
                         "%", Figure::Goal::AtLeast, 99.5,
                         counterOf("lightHitEmbree1/0", "agree_percent")});
    figures().push_back({"face-up picture of 512 x 512 in nine wavelengths, all threads",
                         "light_picture_ms", "ms", Figure::Goal::AtMost, 1000.0,
                         counterOf("lightPicture512", "elapsed_ms")});
    figures().push_back({"the same on one thread, processor time", "light_picture_cpu_us", "us",
                         Figure::Goal::AtMost, std::nullopt, microseconds("lightPicture512")});
    return true;
}();

}  // namespace
}  // namespace macle::bench
