#include "core/bench/working_order.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "core/appraise/work_estimate.h"
#include "core/base/error.h"
#include "core/base/numbers.h"
#include "core/base/units.h"
#include "core/bench/facet_groups.h"
#include "core/bench/facet_rows.h"
#include "core/bench/stage_body.h"
#include "core/bench/step_cautions.h"
#include "core/bench/work_minutes.h"

namespace macle {

using Eigen::Vector3d;

namespace {

BenchStepKind stepKind(FacetGroupKind kind) {
    switch (kind) {
        case FacetGroupKind::Table:
            return BenchStepKind::Table;
        case FacetGroupKind::Girdle:
            return BenchStepKind::Girdle;
        case FacetGroupKind::FirstMains:
            return BenchStepKind::FirstMains;
        case FacetGroupKind::FurtherMains:
            return BenchStepKind::FurtherMains;
        case FacetGroupKind::Culet:
            return BenchStepKind::Culet;
        case FacetGroupKind::SmallFacets:
            break;
    }
    return BenchStepKind::SmallFacets;
}

// See FacetWork::easy_deg. Both in the stone frame.
double easyAngle_deg(const Vector3d& normal, const Vector3d& easy, const Placement& placement) {
    const Vector3d up = placement.rotation * Vector3d::UnitZ();
    Vector3d level = up.cross(normal);
    constexpr double kLevel = 1e-9;  // sine of the facet's angle: its level line is then no line
    if (level.norm() < kLevel) level = placement.rotation * Vector3d::UnitX();
    level.normalize();
    const double angle = degrees(std::atan2(normal.dot(level.cross(easy)), level.dot(easy)));
    return angle < 0.0 ? angle + 360.0 : angle;
}

// A defect no part of which is left on the inner side of these planes.
bool isOff(const std::vector<Vector3d>& corners, const Vector3d& normal, double offset_mm) {
    return std::all_of(corners.begin(), corners.end(),
                       [&](const Vector3d& v) { return normal.dot(v) >= offset_mm; });
}

class Ordering {
  public:
    Ordering(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
             const WholeLayout& whole, const OrderRequest& request, Progress* progress)
        : stone_(stone),
          cutter_(cutter),
          layout_(layout),
          whole_(whole),
          request_(request),
          progress_(progress) {
        for (const WholePiece& piece : whole.pieces)
            if (piece.stones.size() > 1)
                throw Error(ErrorCode::BadUsage,
                            stoneName(static_cast<std::size_t>(piece.stones[0])) + " and " +
                                stoneName(static_cast<std::size_t>(piece.stones[1])) +
                                " are cut from one piece, so there is no order to work them in.",
                            "Saw between them first.");
        for (const Defect& defect : stone.defects)
            defects_.push_back(defectSurface(defect).vertices);
    }

    WorkingOrder run() {
        order_.rough_ct = caratsOf(stone_, stone_.rough.volume_mm3);
        if (!stone_.axes)
            order_.grainMissing =
                "The crystal's axes are not known, so easy directions are not told. Pick two "
                "natural faces or type the axes.";
        if (!request_.rates) order_.minutesMissing = "No shop rates are given.";
        referenceFace();
        dividing();
        const auto stones = layout_.stones.size();
        for (std::size_t i = 0; i < stones; ++i)
            oneStone(i, static_cast<double>(i) / static_cast<double>(stones),
                     static_cast<double>(i + 1) / static_cast<double>(stones));
        totals();
        return std::move(order_);
    }

  private:
    BenchStep& add(BenchStepKind kind, const std::string& title, const std::string& what) {
        BenchStep step;
        step.number = static_cast<int>(order_.steps.size()) + 1;
        step.kind = kind;
        step.title = title;
        step.what = what;
        step.cautions = stepCautions(kind);
        order_.steps.push_back(std::move(step));
        return order_.steps.back();
    }

    void report(BenchStep& step, const std::vector<const TriangleMesh*>& before,
                const std::vector<const TriangleMesh*>& after) {
        if (request_.onStep) request_.onStep(step, before, after);
        if (request_.keepShapes)
            for (const TriangleMesh* mesh : after)
                step.shapes.push_back(*mesh);
    }

    void noteDefectsOff(BenchStep& step, const Vector3d& normal, double offset_mm) {
        for (std::size_t d = 0; d < defects_.size(); ++d) {
            if (defectIsOff_[d] || !isOff(defects_[d], normal, offset_mm)) continue;
            defectIsOff_[d] = true;
            step.defectsOff.push_back(stone_.defects[d].name);
        }
    }

    void referenceFace() {
        BenchStep& step =
            add(BenchStepKind::ReferenceFace, "Reference face",
                "Set up the reference face and mark the stone. Nothing the plan counts comes off.");
        step.entering_ct = step.left_ct = order_.rough_ct;
    }

    void dividing() {
        const std::vector<Saw>& saws = layout_.saws;
        const Division& whole = whole_.divided->division;
        std::vector<TriangleMesh> meshes(1, stone_.rough.mesh);
        std::vector<double> volumes(1, stone_.rough.volume_mm3);
        for (std::size_t s = 0; s < saws.size(); ++s) {
            // The state between two saws is that of the first of them alone.
            const Division now =
                divide(stone_.rough, cutter_,
                       {saws.begin(), saws.begin() + static_cast<std::ptrdiff_t>(s) + 1}, nullptr);
            const auto p = static_cast<std::size_t>(saws[s].piece);
            BenchStep& step = add(BenchStepKind::Saw, "Saw " + std::to_string(s + 1),
                                  sawWords(saws[s], meshes.size()));
            step.saw = static_cast<int>(s);
            step.piece = saws[s].piece;
            step.entering_ct = caratsOf(stone_, volumes[p]);
            step.removed_ct = caratsOf(stone_, now.kerf_mm3[s]);
            const Piece& below = now.pieces[p];
            const Piece& above = now.pieces.back();
            step.left_ct = caratsOf(stone_, below.volume_mm3) + caratsOf(stone_, above.volume_mm3);
            if (request_.rates) {
                if (const auto work =
                        sawingStep(*request_.rates, step.entering_ct, step.removed_ct)) {
                    step.minutes = work->minutes;
                    step.operations.push_back(work->operation);
                }
            }
            for (const Piece* piece : {&below, &above})
                if (piece->lumps > 1)
                    step.cautions.insert(
                        step.cautions.begin(),
                        "One of the two falls into " + std::to_string(piece->lumps) +
                            " separate lumps: hold all of them before the saw is through.");
            order_.kerf_ct += step.removed_ct;
            report(step, {&meshes[p]}, {&below.mesh, &above.mesh});
            meshes[p] = below.mesh;
            volumes[p] = below.volume_mm3;
            meshes.push_back(above.mesh);
            volumes.push_back(above.volume_mm3);
            if (progress_) progress_->throwIfCancelled();
        }
        layAside(whole);
    }

    void layAside(const Division& whole) {
        if (std::none_of(whole_.pieces.begin(), whole_.pieces.end(),
                         [](const WholePiece& piece) { return piece.stones.empty(); }))
            return;
        BenchStep& step = add(BenchStepKind::LeftOver, "Pieces laid aside", "");
        for (std::size_t p = 0; p < whole.pieces.size(); ++p) {
            if (!whole_.pieces[p].stones.empty()) continue;
            const double ct = caratsOf(stone_, whole.pieces[p].volume_mm3);
            step.what += (step.what.empty() ? "" : " ") + std::string("Piece ") +
                         std::to_string(p + 1) + ", " + formatFixed(ct, 3) +
                         " ct: no stone is planned in it.";
            step.removed_ct += ct;
        }
        step.entering_ct = step.removed_ct;
        order_.leftOver_ct = step.removed_ct;
    }

    static std::string sawWords(const Saw& saw, std::size_t piecesBefore) {
        std::string words =
            "Divide " +
            (piecesBefore == 1 ? "the rough" : "piece " + std::to_string(saw.piece + 1));
        words += " along n.x = " + formatFixed(saw.offset_mm, 3) + " mm, n = (" +
                 formatFixed(saw.normal.x(), 5) + ", " + formatFixed(saw.normal.y(), 5) + ", " +
                 formatFixed(saw.normal.z(), 5) + ") in the frame of the scan, kerf " +
                 formatFixed(saw.kerf_mm, 3) + " mm";
        if (saw.v)
            words += " where the beam enters and " + formatFixed(saw.v->exit_mm, 3) +
                     " mm where it leaves";
        return words + ". What lies towards n becomes piece " + std::to_string(piecesBefore + 1) +
               ".";
    }

    // What lies beyond the saws is off for this stone's piece.
    void defectsBeyondSaws(BenchStep& step, std::size_t planned) {
        const auto piece = static_cast<std::size_t>(layout_.stones[planned].piece);
        for (const HalfSpace& side : whole_.divided->division.pieces[piece].sides)
            noteDefectsOff(step, side.normal, side.offset_mm);
    }

    void oneStone(std::size_t planned, double from, double to) {
        const PlannedStone& plan = layout_.stones[planned];
        const Stone& piece = *whole_.stones[planned].stone;
        const RoughCutter& cutter = *whole_.stones[planned].cutter;
        const Design design = designOf(plan);
        const StageBodies bodies(piece.rough, cutter, design, plan.placement);
        std::map<std::string, FacetGrain> grain;
        if (piece.axes)
            for (FacetGrain& one :
                 readGrain(*piece.axes, design, plan.placement, request_.grain).facets)
                grain.emplace(one.facet, one);
        const std::map<std::string, const Facet*> planes = planesByName(design);

        const std::size_t firstStep = order_.steps.size();
        StageBody present{piece.rough.volume_mm3, piece.rough.mesh};
        std::set<std::string> worked;
        // Each stone is told of all defects that its own work takes off.
        defectIsOff_.assign(defects_.size(), false);
        BenchStep beyond;
        defectsBeyondSaws(beyond, planned);
        const std::vector<FacetGroup> groups = facetGroups(design);
        const std::vector<FacetRow> rows = facetRows(design, plan.placement.size_mm, groups);
        for (std::size_t g = 0; g < groups.size(); ++g) {
            if (progress_) {
                progress_->throwIfCancelled();
                progress_->advanceTo(from + (to - from) * static_cast<double>(g) /
                                                static_cast<double>(groups.size()));
            }
            const FacetGroup& group = groups[g];
            BenchStep& step = add(stepKind(group.kind), group.title, group.what);
            step.stone = static_cast<int>(planned);
            step.piece = plan.piece;
            step.works = group.facets;
            step.facets = workOf(static_cast<int>(g), rows, planes, plan.placement, bodies, present,
                                 worked, grain);
            std::set<std::string> then = worked;
            then.insert(group.facets.begin(), group.facets.end());
            StageBody after = bodies.after(then);
            step.entering_ct = caratsOf(piece, present.volume_mm3);
            step.left_ct = caratsOf(piece, after.volume_mm3);
            step.removed_ct = step.entering_ct - step.left_ct;
            if (design.parts.size() == 1)  // a part's facet does not cut the others
                for (const std::string& name : group.facets) {
                    const Facet& facet = *planes.at(name);
                    const Vector3d normal = plan.placement.rotation * facet.normal;
                    noteDefectsOff(step, normal,
                                   normal.dot(plan.placement.translation_mm) +
                                       facet.distance * plan.placement.size_mm);
                }
            for (const FacetWork& facet : step.facets)
                if (facet.grain && facet.grain->warned)
                    step.cautions.insert(step.cautions.begin(),
                                         facet.facet + ": " + facet.grain->text + ".");
            report(step, {&present.mesh}, {&after.mesh});
            present = std::move(after);
            worked = std::move(then);
        }
        const double finished_ct =
            caratsOf(piece, cutter.finish(design, plan.placement, false).volume_mm3);
        check(caratsOf(piece, present.volume_mm3) - finished_ct,
              "The last step of stone " + std::to_string(planned + 1) +
                  " does not leave the finished stone");
        order_.finished_ct += finished_ct;
        ending(planned, finished_ct);
        if (!request_.rates) return;
        std::vector<BenchStep*> own;
        for (std::size_t s = firstStep; s < order_.steps.size(); ++s)
            own.push_back(&order_.steps[s]);
        shareMinutes(
            estimateWork(workStages(piece, cutter, design, plan.placement), *request_.rates),
            *request_.rates, order_.steps.front(), own);
    }

    void ending(std::size_t planned, double finished_ct) {
        for (const auto& [kind, title, what] :
             {std::tuple{BenchStepKind::GirdlePolish, "Girdle polish", "Polish the girdle."},
              std::tuple{BenchStepKind::Check, "Cleaning and check",
                         "Clean the stone and measure it against this sheet."}}) {
            BenchStep& step = add(kind, title, what);
            step.stone = static_cast<int>(planned);
            step.piece = layout_.stones[planned].piece;
            step.entering_ct = step.left_ct = finished_ct;
        }
    }

    static std::map<std::string, const Facet*> planesByName(const Design& design) {
        std::map<std::string, const Facet*> planes;
        for (const ConvexPart& part : design.parts)
            for (const Facet& facet : part.facets)
                planes.emplace(facet.name, &facet);
        return planes;
    }

    std::vector<FacetWork> workOf(int group, const std::vector<FacetRow>& rows,
                                  const std::map<std::string, const Facet*>& planes,
                                  const Placement& placement, const StageBodies& bodies,
                                  const StageBody& present, const std::set<std::string>& worked,
                                  const std::map<std::string, FacetGrain>& grain) const {
        std::vector<FacetWork> list;
        for (const FacetRow& row : rows) {
            if (row.group != group) continue;
            FacetWork work;
            work.facet = row.facet;
            work.count = row.count;
            work.angle_deg = row.angle_deg;
            work.azimuth_deg = row.azimuth_deg;
            work.centre_mm = row.centre_mm;
            for (const std::string& name : row.names)
                work.depth_mm = std::max(work.depth_mm, bodies.depth_mm(name, present, worked));
            const auto read = grain.find(row.names.front());
            if (row.count == 1 && read != grain.end()) {
                work.grain = read->second;
                if (!read->second.easy.empty())
                    work.easy_deg =
                        easyAngle_deg(placement.rotation * planes.at(row.names.front())->normal,
                                      read->second.easy.front().direction, placement);
            }
            list.push_back(std::move(work));
        }
        return list;
    }

    void check(double miss_ct, const std::string& what) const {
        if (std::abs(miss_ct) <= tolerance::kStepSum * order_.rough_ct) return;
        throw Error(
            ErrorCode::Internal,
            what + ": it misses by " + formatFixed(miss_ct, 9) + " ct, so no steps are given.",
            "Move the stone by a little and report this.");
    }

    void totals() {
        double removed = 0.0;
        std::optional<double> minutes;
        for (const BenchStep& step : order_.steps) {
            removed += step.removed_ct;
            if (step.stone >= 0) order_.offPieces_ct += step.removed_ct;
            if (step.minutes) minutes = minutes.value_or(0.0) + *step.minutes;
        }
        check(removed - (order_.rough_ct - order_.finished_ct),
              "The losses of the steps do not add up to rough less finished");
        order_.minutes = minutes;
    }

    const Stone& stone_;
    const RoughCutter& cutter_;
    const Layout& layout_;
    const WholeLayout& whole_;
    const OrderRequest& request_;
    Progress* progress_;
    std::vector<std::vector<Vector3d>> defects_;
    std::vector<bool> defectIsOff_;
    WorkingOrder order_;
};

}  // namespace

WorkingOrder orderWork(const Stone& stone, const RoughCutter& cutter, const Layout& layout,
                       const WholeLayout& whole, const OrderRequest& request, Progress* progress) {
    return Ordering(stone, cutter, layout, whole, request, progress).run();
}

const char* stepKindName(BenchStepKind kind) {
    switch (kind) {
        case BenchStepKind::ReferenceFace:
            return "reference face";
        case BenchStepKind::Saw:
            return "saw";
        case BenchStepKind::LeftOver:
            return "left over";
        case BenchStepKind::Table:
            return "table";
        case BenchStepKind::Girdle:
            return "girdle";
        case BenchStepKind::FirstMains:
            return "first mains";
        case BenchStepKind::FurtherMains:
            return "further mains";
        case BenchStepKind::Culet:
            return "culet";
        case BenchStepKind::SmallFacets:
            return "small facets";
        case BenchStepKind::GirdlePolish:
            return "girdle polish";
        case BenchStepKind::Check:
            return "check";
    }
    return "";
}

}  // namespace macle
