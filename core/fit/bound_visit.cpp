#include "core/fit/bound_visit.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace macle {

namespace {

using Eigen::Vector3d;
using Outcome = BoundProgramme::Outcome;
using Row = BoundProgramme::Row;
using Vector = BoundProgramme::Vector;

constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kHullSlack = 3e-5;   // share of the size by which a hull row may be missed
constexpr double kPointSlack = 1e-5;  // and a surface point
constexpr double kHullShare = 0.3;
constexpr int kRowsAtOnce = 10;
constexpr int kMostRounds = 40;
constexpr std::size_t kMostChoices = 16;
constexpr std::size_t kSingles = 6;  // up to so many facets get a cell each
// and only when that lowers the bound by this share of what is above the size asked for.
constexpr double kMeanGain = 0.3;
constexpr double kSureGain = 0.1;
constexpr std::size_t kFewFacets = 30;  // up to so many are tried one by one
// Rows are handed on when their slack is below this, or this share of what is above the size
// asked for, whichever is less.
constexpr double kKeep = 0.03;
constexpr double kKeepShare = 2.0;
constexpr std::size_t kMostPairs = 48;

const Vector kSize = Vector::Unit(0);

// Made of corners by weights that are not negative and sum to 1, so that it lies on the triangle
// to a rounding whatever `near` is.
Vector3d onTriangle(const TreeTriangle& triangle, const Vector3d& near) {
    Vector3d corner[3];
    for (int i = 0; i < 3; ++i)
        corner[i] = Vector3d(triangle.corner[3 * i], triangle.corner[3 * i + 1],
                             triangle.corner[3 * i + 2]);
    const Vector3d e1 = corner[1] - corner[0], e2 = corner[2] - corner[0], p = near - corner[0];
    const double a = e1.dot(e1), b = e1.dot(e2), c = e2.dot(e2), d = e1.dot(p), e = e2.dot(p);
    const double area = a * c - b * b;
    double v = area > 0.0 ? (c * d - b * e) / area : 0.0;
    double w = area > 0.0 ? (a * e - b * d) / area : 0.0;
    v = std::isfinite(v) ? std::clamp(v, 0.0, 1.0) : 0.0;
    w = std::isfinite(w) ? std::clamp(w, 0.0, 1.0) : 0.0;
    if (v + w > 1.0) {
        const double sum = v + w;
        v /= sum;
        w /= sum;
    }
    return std::max(0.0, 1.0 - v - w) * corner[0] + v * corner[1] + w * corner[2];
}

void halveBox(BoundCell& cell, int axis, int side) {
    if (axis < 3) {
        const double middle = cell.rotation.centre()[axis];
        (side ? cell.rotation.low : cell.rotation.high)[axis] = middle;
    } else {
        const double middle = 0.5 * (cell.centreLow[axis - 3] + cell.centreHigh[axis - 3]);
        (side ? cell.centreLow : cell.centreHigh)[axis - 3] = middle;
    }
}

}  // namespace

struct CellVisitor::Work {
    BoundCell cell;  // its box of centres is narrowed on the way
    double sizeLow;
    std::optional<CellRows> rows;
    BoundProgramme programme;
    std::vector<std::pair<int, HullPair>> hullRows;       // index of the row
    std::vector<std::pair<int, std::size_t>> choiceRows;  // index of the row, of the choice
    BoundProgramme::Basis basis;
    bool narrowed = false;
    bool empty = false;
};

CellVisitor::CellVisitor(const BoundModel& model, const BoundScale& scale, const ObstacleTree& tree,
                         const std::vector<PreparedPart>& parts)
    : model_(model), scale_(scale), tree_(tree), query_(tree, parts) {}

void CellVisitor::fill(Work& work) {
    work.rows.emplace(model_, work.cell, work.sizeLow, work.cell.bound);
    work.programme.rows.clear();
    work.basis.ready = false;
    work.rows->setBox(work.programme);
    for (auto& [index, pair] : work.hullRows) {
        index = static_cast<int>(work.programme.rows.size());
        work.programme.rows.push_back(work.rows->hullRow(pair));
    }
    work.choiceRows.clear();
    for (std::size_t i = 0; i < work.cell.choices.size() && !work.empty; ++i) {
        work.choiceRows.push_back({static_cast<int>(work.programme.rows.size()), i});
        addChoiceRow(work, work.cell.choices[i]);
    }
}

void CellVisitor::addChoiceRow(Work& work, PointChoice& choice) {
    std::vector<Row> rows;
    std::vector<int> possible;
    for (const int facet : choice.facets) {
        const Row row =
            work.rows->pointRow(choice.point, choice.part, facet, nullptr, choice.margin);
        if (CellRows::impossible(work.programme, row)) continue;
        rows.push_back(row);
        possible.push_back(facet);
    }
    choice.facets = std::move(possible);
    if (rows.empty()) {
        work.empty = true;
        return;
    }
    work.programme.rows.push_back(CellRows::either(work.programme, rows));
}

void CellVisitor::tryMiddle(Work& work) {
    const Vector middle = work.sizeLow * kSize;
    const Vector3d centre = scale_.toStone(work.rows->centreAt(middle));
    query_.aim(work.rows->rotationAt(middle), centre);
    const Contact contact = query_.smallest(warm_);
    warm_ = contact.triangle;
    if (contact.value / scale_.unit_mm > work.sizeLow) return;
    PointChoice choice;
    choice.point =
        scale_.toScaled(onTriangle(tree_.triangles()[contact.triangle], centre + contact.q));
    choice.part = contact.part;
    choice.margin = tree_.margin_mm(tree_.triangles()[contact.triangle].source) / scale_.unit_mm;
    const int facetCount = static_cast<int>(model_.parts[choice.part].facets().size());
    for (int k = 0; k < facetCount; ++k)
        if (!CellRows::impossible(work.programme, work.rows->pointRow(choice.point, choice.part, k,
                                                                      nullptr, choice.margin)))
            choice.facets.push_back(k);
    if (choice.facets.empty()) {
        work.empty = true;
    } else if (choice.facets.size() <= kFewFacets) {
        work.choiceRows.push_back(
            {static_cast<int>(work.programme.rows.size()), work.cell.choices.size()});
        work.cell.choices.push_back(std::move(choice));
        addChoiceRow(work, work.cell.choices.back());
    }
}

bool CellVisitor::cutByHull(Work& work, const Vector& x) {
    struct Violated {
        double by;
        HullPair pair;
        Row row;
    };
    std::vector<Violated> violated;
    const Vector3d centre = work.rows->centreAt(x);
    for (int plane = 0; plane < static_cast<int>(model_.planes.size()); ++plane) {
        const SupportPlane& support = model_.planes[plane];
        if (support.normal.dot(centre) + 1.5 * x[0] * model_.reach <= support.distance) continue;
        for (int part = 0; part < static_cast<int>(model_.parts.size()); ++part) {
            const HullPair pair = work.rows->worstPair(plane, part, x);
            const Row row = work.rows->hullRow(pair);
            const double by = row.a.dot(x) - row.b;
            if (by > kHullSlack * x[0]) violated.push_back({by, pair, row});
        }
    }
    if (violated.empty()) return false;
    std::stable_sort(violated.begin(), violated.end(),
                     [](const Violated& a, const Violated& b) { return a.by > b.by; });
    if (violated.size() > kRowsAtOnce) violated.resize(kRowsAtOnce);
    for (const Violated& v : violated) {
        work.hullRows.push_back({static_cast<int>(work.programme.rows.size()), v.pair});
        work.programme.rows.push_back(v.row);
    }
    return true;
}

// Narrows the box of centres to what the rows leave; true when it pays to begin again.
bool CellVisitor::narrow(Work& work) {
    work.narrowed = true;
    const Vector3d middle = work.rows->centreAt(Vector::Zero());
    Vector3d low = work.cell.centreLow, high = work.cell.centreHigh;
    bool much = false;
    for (int axis = 0; axis < 3; ++axis)
        for (const double sign : {-1.0, 1.0}) {
            BoundProgramme::Basis basis;
            const Outcome outcome =
                work.programme.maximise(sign * Vector::Unit(4 + axis), basis, -kInfinity);
            if (outcome.empty) {
                work.empty = true;
                return false;
            }
            // One more rounding for the sum.
            const double reach = sign * middle[axis] + outcome.bound + 1e-14;
            if (sign > 0.0)
                high[axis] = std::min(high[axis], reach);
            else
                low[axis] = std::max(low[axis], -reach);
        }
    for (int axis = 0; axis < 3; ++axis) {
        if (low[axis] > high[axis]) {
            work.empty = true;
            return false;
        }
        much = much || high[axis] - low[axis] <
                           0.8 * (work.cell.centreHigh[axis] - work.cell.centreLow[axis]);
    }
    if (!much) return false;
    work.cell.centreLow = low;
    work.cell.centreHigh = high;
    return true;
}

BoundCell CellVisitor::childOf(const Work& work, const Vector& x) const {
    BoundCell child = work.cell;
    const double keep = std::min(kKeep, kKeepShare * (work.cell.bound - work.sizeLow));
    std::vector<std::pair<double, HullPair>> pairs;
    for (const auto& [index, pair] : work.hullRows) {
        const Row& row = work.programme.rows[index];
        const double slack = row.b - row.a.dot(x);
        if (slack < keep) pairs.push_back({slack, pair});
    }
    std::stable_sort(pairs.begin(), pairs.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    if (pairs.size() > kMostPairs) pairs.resize(kMostPairs);
    child.pairs.clear();
    for (const auto& [slack, pair] : pairs)
        child.pairs.push_back(pair);
    std::vector<PointChoice> choices;
    for (const auto& [index, at] : work.choiceRows) {
        const PointChoice& choice = work.cell.choices[at];
        const Row& row = work.programme.rows[index];
        if (choice.decided || row.b - row.a.dot(x) < keep) choices.push_back(choice);
    }
    child.choices = std::move(choices);
    return child;
}

void CellVisitor::divide(Work& work, const Outcome& outcome, const PointChoice* blocked,
                         VisitResult& result) {
    struct Held {
        double weight;
        HullPair pair;
        const PointChoice* choice;
        int facet;
    };
    std::vector<Held> held;
    auto hold = [&](const PointChoice& choice, double weight) {
        for (const int facet : choice.facets)
            held.push_back(
                {weight / static_cast<double>(choice.facets.size()), {}, &choice, facet});
    };
    for (const auto& [row, weight] : outcome.multipliers) {
        if (row < 0) continue;
        for (const auto& [index, pair] : work.hullRows)
            if (index == row) held.push_back({weight, pair, nullptr, 0});
        for (const auto& [index, at] : work.choiceRows)
            if (index == row) hold(work.cell.choices[at], weight);
    }
    if (blocked) hold(*blocked, 1.0);
    int best = 0;
    double least = kInfinity;
    for (int axis = 0; axis < 6; ++axis) {
        double error = 0.0;
        for (int side = 0; side < 2; ++side) {
            BoundCell half;
            half.rotation = work.cell.rotation;
            half.centreLow = work.cell.centreLow;
            half.centreHigh = work.cell.centreHigh;
            halveBox(half, axis, side);
            const CellRows rows(model_, half, work.sizeLow, result.bound);
            for (const Held& h : held) {
                double one = 0.0;
                if (h.choice)
                    rows.pointRow(h.choice->point, h.choice->part, h.facet, &one, h.choice->margin);
                else
                    rows.hullRow(h.pair, &one);
                error += h.weight * one;
            }
        }
        // Without any error, the widest.
        const double width = axis < 3
                                 ? work.cell.rotation.high[axis] - work.cell.rotation.low[axis]
                                 : work.cell.centreHigh[axis - 3] - work.cell.centreLow[axis - 3];
        error -= 1e-9 * width;
        if (error < least) {
            least = error;
            best = axis;
        }
    }
    halve(work, outcome, best, result);
}

void CellVisitor::halve(const Work& work, const Outcome& outcome, int axis,
                        VisitResult& result) const {
    for (int side = 0; side < 2; ++side) {
        BoundCell child = childOf(work, outcome.x);
        halveBox(child, axis, side);
        child.bound = result.bound;
        result.children.push_back(std::move(child));
    }
}

void CellVisitor::branch(Work& work, const Outcome& outcome, const PointChoice& choice,
                         const std::vector<double>& bounds, VisitResult& result) {
    for (std::size_t i = 0; i < choice.facets.size(); ++i) {
        BoundCell child = childOf(work, outcome.x);
        child.bound = std::min(bounds[i], result.bound);
        // An earlier choice at the same point is implied by this one.
        std::erase_if(child.choices, [&](const PointChoice& c) {
            return c.part == choice.part && c.point == choice.point;
        });
        child.choices.push_back(
            {choice.point, choice.part, {choice.facets[i]}, choice.margin, true});
        result.children.push_back(std::move(child));
    }
}

double CellVisitor::nearestSurface_mm(const Vector3d& point_mm) const {
    // Lower bounds only are needed: boxes of leaves stand for their triangles.
    const Vector3d from = point_mm - tree_.origin();
    double nearest = kInfinity;
    std::vector<std::uint32_t> stack{0};
    while (!stack.empty()) {
        const TreeNode& node = tree_.nodes()[stack.back()];
        stack.pop_back();
        double square = 0.0;
        for (int axis = 0; axis < 3; ++axis) {
            const double gap =
                std::max(0.0, std::abs(from[axis] - node.centre[axis]) - node.half(axis));
            square += gap * gap;
        }
        const double distance = std::sqrt(square);
        if (distance >= nearest) continue;
        if (node.count > 0) {
            nearest = distance;
            continue;
        }
        stack.push_back(node.first + 1);
        stack.push_back(node.first);
    }
    return nearest;
}

bool CellVisitor::cutByPoint(Work& work, const Outcome& outcome, VisitResult& result) {
    const Eigen::Quaterniond rotation = work.rows->rotationAt(outcome.x);
    const Vector3d centre = scale_.toStone(work.rows->centreAt(outcome.x));
    // Where the hull itself is what the design runs into, only a narrower cell helps.
    const double inHull = work.rows->sizeInHull(rotation, work.rows->centreAt(outcome.x));
    if (outcome.x[0] - inHull > kHullShare * (outcome.x[0] - work.sizeLow)) {
        divide(work, outcome, nullptr, result);
        return false;
    }
    query_.aim(rotation, centre);
    const Contact contact = query_.smallest(warm_);
    warm_ = contact.triangle;
    const double fits = contact.value / scale_.unit_mm;
    const bool admissible = fits > work.sizeLow && tree_.admissible(centre);
    if (admissible && (!result.found || contact.value > result.found->size_mm))
        result.found = Placement{rotation, centre, contact.value};
    if (fits >= outcome.x[0] * (1.0 - kPointSlack)) {
        if (admissible) {
            // The bound is met by a placement: only a narrower cell could tell more.
            if (fits >= result.bound * (1.0 - 2.0 * kPointSlack)) return false;
            divide(work, outcome, nullptr, result);
            return false;
        }
        // The design floats in a space that is not stone.
        const Vector3d middle = 0.5 * (work.cell.centreLow + work.cell.centreHigh);
        const Vector3d half = 0.5 * (work.cell.centreHigh - work.cell.centreLow);
        const Vector3d middle_mm = scale_.toStone(middle);
        if (!tree_.admissible(middle_mm) &&
            nearestSurface_mm(middle_mm) > half.norm() * scale_.unit_mm * (1.0 + 1e-9)) {
            result.bound = 0.0;
            return false;
        }
        int widest = 0;
        half.maxCoeff(&widest);
        halve(work, outcome, 3 + widest, result);
        return false;
    }
    if (outcome.x[0] - inHull > kHullShare * (outcome.x[0] - fits)) {
        divide(work, outcome, nullptr, result);
        return false;
    }
    work.cell.crowded = true;
    PointChoice choice;
    choice.point =
        scale_.toScaled(onTriangle(tree_.triangles()[contact.triangle], centre + contact.q));
    choice.part = contact.part;
    choice.margin = tree_.margin_mm(tree_.triangles()[contact.triangle].source) / scale_.unit_mm;
    std::size_t known = work.cell.choices.size();
    for (std::size_t i = 0; i < work.cell.choices.size(); ++i)
        if (work.cell.choices[i].part == choice.part &&
            (work.cell.choices[i].point - choice.point).norm() < 1e-9) {
            known = i;
            choice = work.cell.choices[i];
        }
    const int facetCount = static_cast<int>(model_.parts[choice.part].facets().size());
    std::vector<int> candidates = choice.facets;
    if (known == work.cell.choices.size())
        for (int k = 0; k < facetCount; ++k)
            candidates.push_back(k);
    std::vector<Row> rows;
    choice.facets.clear();
    double best = -kInfinity;
    PointChoice blocked{choice.point, choice.part, {}, choice.margin, false};
    for (const int facet : candidates) {
        const Row row =
            work.rows->pointRow(choice.point, choice.part, facet, nullptr, choice.margin);
        if (CellRows::impossible(work.programme, row)) continue;
        rows.push_back(row);
        choice.facets.push_back(facet);
        const double slack = row.b - row.a.dot(outcome.x);
        if (slack > best) {
            best = slack;
            blocked.facets = {facet};
        }
    }
    const double enough =
        kPointSlack * outcome.x[0] * model_.parts[choice.part].facets().front().distance;
    if (!rows.empty() && best > -enough) {
        divide(work, outcome, &blocked, result);
        return false;
    }
    // Every facet would have to give way: see what each leaves.
    std::vector<double> bounds;
    std::vector<Row> possibleRows;
    std::vector<int> possible;
    double most = 0.0;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (rows.size() > kFewFacets) {
            possibleRows = rows;
            possible = choice.facets;
            bounds.assign(rows.size(), result.bound);
            most = result.bound;
            break;
        }
        work.programme.rows.push_back(rows[i]);
        BoundProgramme::Basis basis = work.basis;
        const Outcome probe = work.programme.maximise(kSize, basis, work.sizeLow);
        work.programme.rows.pop_back();
        if (probe.empty || probe.bound <= work.sizeLow) continue;
        possibleRows.push_back(rows[i]);
        possible.push_back(choice.facets[i]);
        bounds.push_back(probe.bound);
        most = std::max(most, probe.bound);
    }
    choice.facets = possible;
    if (possible.empty()) {
        result.bound = 0.0;
        return false;
    }
    result.bound = std::min(result.bound, most);
    const Row joined = CellRows::either(work.programme, possibleRows);
    const bool cuts = joined.a.dot(outcome.x) - joined.b > enough;
    if (cuts && work.cell.choices.size() < kMostChoices) {
        if (known < work.cell.choices.size()) {
            work.cell.choices[known] = choice;
        } else {
            known = work.cell.choices.size();
            work.cell.choices.push_back(choice);
        }
        work.choiceRows.push_back({static_cast<int>(work.programme.rows.size()), known});
        work.programme.rows.push_back(joined);
        return true;
    }
    if (possible.size() == 1) {
        divide(work, outcome, &blocked, result);
        return false;
    }
    double gained = 0.0;
    for (const double one : bounds)
        gained += std::min(outcome.x[0] - one, outcome.x[0] - work.sizeLow);
    gained /= static_cast<double>(bounds.size()) * (outcome.x[0] - work.sizeLow);
    const double surely = (outcome.x[0] - most) / (outcome.x[0] - work.sizeLow);
    if (possible.size() <= kSingles && (gained > kMeanGain || surely > kSureGain)) {
        branch(work, outcome, choice, bounds, result);
        return false;
    }
    std::array<double, 6> total{};
    for (const int facet : possible) {
        const std::array<double, 6> one = work.rows->widths(choice.point, choice.part, facet);
        for (int axis = 0; axis < 6; ++axis)
            total[axis] += one[axis];
    }
    const auto widest = std::max_element(total.begin(), total.end());
    halve(work, outcome, static_cast<int>(widest - total.begin()), result);
    return false;
}

VisitResult CellVisitor::visit(const BoundCell& cell, double sizeLow) {
    VisitResult result;
    result.bound = cell.bound;
    if (cell.bound <= sizeLow) {
        result.bound = 0.0;
        return result;
    }
    Work work{cell, sizeLow, {}, {}, {}, {}, {}, false, false};
    for (const HullPair& pair : cell.pairs)
        work.hullRows.push_back({0, pair});
    fill(work);
    if (cell.crowded && !work.empty) tryMiddle(work);
    Outcome outcome;
    for (int round = 0; round < kMostRounds && !work.empty; ++round) {
        outcome = work.programme.maximise(kSize, work.basis, sizeLow);
        if (outcome.empty || outcome.bound <= sizeLow) {
            result.bound = 0.0;
            return result;
        }
        result.bound = std::min(result.bound, outcome.bound);
        if (!outcome.solved) break;
        if (cutByHull(work, outcome.x)) continue;
        if (!work.narrowed) {
            const bool again = narrow(work);
            if (work.empty) break;
            if (again) {
                work.cell.bound = result.bound;
                fill(work);
                continue;
            }
        }
        if (!cutByPoint(work, outcome, result)) return result;
    }
    if (work.empty)
        result.bound = 0.0;
    else
        divide(work, outcome, nullptr, result);
    return result;
}

}  // namespace macle
