// RayStream: rays of one wavelength followed to their end, many side by side. Private to light.
//
// A Sink gets, from the stream's own thread and for each ray in the order of its path:
//   wants()                                 whether stretches are asked for (constexpr static)
//   stretch(id, Stretch)                    a straight stretch inside; false ends the ray
//   leaves(id, point, direction, power, path, part, face, hits)
//   loses(id, Loss, power)                  what does not leave
#pragma once

#include <algorithm>
#include <cmath>
#include <iterator>
#include <vector>

#include "core/light/facet_table.h"
#include "core/light/light_body.h"
#include "core/light/outside_ray.h"
#include "core/light/ray_batch.h"
#include "core/light/trace_options.h"

namespace macle::light {

enum class Loss { Glare, Absorbed, Blocked, GivenUp };

struct Stretch {
    Eigen::Vector3d origin, direction;
    double length = 0.0;
    double power = 0.0;      // at its end, before the bodies inside take their share
    int part = 0, face = 0;  // met at its end
    int hits = 0;            // faces met from inside before
};

// In a union: where a ray leaves its part inside another it goes on there.
void goOnInOtherParts(const LightBody& body, RayBatch& rays);

template <class Sink>
class RayStream {
  public:
    // Keeps references to all it is given.
    RayStream(const LightBody& body, const TraceOptions& options, Sink& sink)
        : body_(body), options_(options), sink_(sink), index_(body.index(options.wavelength_nm)) {
        // Lanes no ray has stood in are worked through too: a sound direction in each.
        std::fill(std::begin(rays_.dx), std::end(rays_.dx), 1.0);
        std::fill(std::begin(rays_.ry), std::end(rays_.ry), 1.0);
    }

    double index() const { return index_; }

    // A ray that meets the body as told. It may run at once or later.
    void start(const OutsideRay& ray, const LightBody::Meeting& meeting) {
        enter(ray, meeting);
        if (rays_.count == RayBatch::kCapacity) run(kFewRays);
    }

    // All rays started have ended when this returns.
    void finish() {
        run(0);
        while (!waiting_.empty()) {
            std::vector<OutsideRay> again;
            again.swap(waiting_);
            for (const OutsideRay& ray : again) {
                const auto meeting =
                    body_.firstMeeting(ray.origin, ray.direction, kSamePlace * body_.size_mm());
                enter(ray, meeting);
                if (rays_.count == RayBatch::kCapacity) run(kFewRays);
            }
            run(0);
        }
    }

  private:
    void enter(const OutsideRay& ray, const LightBody::Meeting& meeting) {
        const SplitLight split = splitAtFace(ray, meeting.normal, index_);
        const Eigen::Vector3d point = ray.origin + meeting.distance_mm * ray.direction;
        if (ray.hits == 0) {
            sink_.loses(ray.id, Loss::Glare, split.thrownBack.i);
        } else {
            OutsideRay back = ray;
            back.origin = point;
            back.direction = split.backDirection;
            back.light = split.thrownBack;
            back.axis = split.axis;
            const auto table = static_cast<std::size_t>(meeting.part);
            goOut(back, meeting.part, body_.table(table).faceOf(meeting.facet));
        }
        const int k = rays_.count++;
        rays_.ox[k] = point.x();
        rays_.oy[k] = point.y();
        rays_.oz[k] = point.z();
        rays_.dx[k] = split.inDirection.x();
        rays_.dy[k] = split.inDirection.y();
        rays_.dz[k] = split.inDirection.z();
        rays_.i[k] = split.goesIn.i;
        rays_.q[k] = split.goesIn.q;
        rays_.u[k] = split.goesIn.u;
        rays_.v[k] = split.goesIn.v;
        rays_.rx[k] = split.axis.x();
        rays_.ry[k] = split.axis.y();
        rays_.rz[k] = split.axis.z();
        rays_.path[k] = ray.path;
        rays_.part[k] = meeting.part;
        rays_.face[k] = body_.table(static_cast<std::size_t>(meeting.part)).faceOf(meeting.facet);
        rays_.hits[k] = ray.hits;
        rays_.id[k] = ray.id;
    }

    // Leaves for good, or strikes another lobe of a union.
    void goOut(const OutsideRay& ray, int part, int face) {
        if (body_.parts() > 1 && ray.light.i >= options_.leastPower &&
            ray.hits < options_.mostHits && !body_.staysOut(part, ray.origin, ray.direction) &&
            body_.firstMeeting(ray.origin, ray.direction, kSamePlace * body_.size_mm()).part >= 0) {
            waiting_.push_back(ray);
            return;
        }
        sink_.leaves(ray.id, ray.origin, ray.direction, ray.light.i, ray.path, part, face,
                     ray.hits);
    }

    // A step's cost is shared by the rays that take it: new ones join before few are left.
    static constexpr int kFewRays = RayBatch::kCapacity / 2;

    void run(int until) {
        while (rays_.count > until) {
            meetFaces(body_.tables(), rays_);
            if (body_.parts() > 1) goOnInOtherParts(body_, rays_);
            if (options_.absorption_per_mm > 0.0) absorb();
            if (Sink::wants() || !options_.bodies.empty()) passBodies();
            crossFaces(index_, rays_);
            settle();
        }
    }

    void scale(int k, double share) {
        rays_.i[k] *= share;
        rays_.q[k] *= share;
        rays_.u[k] *= share;
        rays_.v[k] *= share;
    }

    void absorb() {
        for (int k = 0; k < rays_.count; ++k) {
            const double share = std::exp(-options_.absorption_per_mm * rays_.t[k]);
            sink_.loses(rays_.id[k], Loss::Absorbed, rays_.i[k] * (1.0 - share));
            scale(k, share);
        }
    }

    void passBodies() {
        for (int k = 0; k < rays_.count; ++k) {
            const Eigen::Vector3d o(rays_.ox[k], rays_.oy[k], rays_.oz[k]);
            const Eigen::Vector3d d(rays_.dx[k], rays_.dy[k], rays_.dz[k]);
            if constexpr (Sink::wants())
                if (!sink_.stretch(rays_.id[k], Stretch{o, d, rays_.t[k], rays_.i[k], rays_.part[k],
                                                        rays_.face[k], rays_.hits[k]}))
                    scale(k, 0.0);
            for (const BodyInside& inside : options_.bodies)
                if (inside.touches(o, d, rays_.t[k])) {
                    sink_.loses(rays_.id[k], Loss::Blocked, rays_.i[k] * inside.opacity());
                    scale(k, 1.0 - inside.opacity());
                }
        }
    }

    void settle() {
        int kept = 0;
        for (int k = 0; k < rays_.count; ++k) {
            ++rays_.hits[k];
            if (rays_.outI[k] > 0.0) {
                OutsideRay out;
                out.origin = {rays_.ox[k], rays_.oy[k], rays_.oz[k]};
                out.direction = {rays_.outX[k], rays_.outY[k], rays_.outZ[k]};
                out.light = {rays_.outI[k], rays_.outQ[k], rays_.outU[k], rays_.outV[k]};
                out.axis = {rays_.rx[k], rays_.ry[k], rays_.rz[k]};
                out.path = rays_.path[k];
                out.hits = rays_.hits[k];
                out.id = rays_.id[k];
                goOut(out, rays_.part[k], rays_.face[k]);
            }
            if (rays_.i[k] < options_.leastPower || rays_.hits[k] >= options_.mostHits) {
                if (rays_.i[k] > 0.0) sink_.loses(rays_.id[k], Loss::GivenUp, rays_.i[k]);
                continue;
            }
            rays_.move(k, kept++);
        }
        rays_.count = kept;
    }

    const LightBody& body_;
    const TraceOptions& options_;
    Sink& sink_;
    double index_;
    RayBatch rays_{};
    std::vector<OutsideRay> waiting_;
};

}  // namespace macle::light
