#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "core/base/numbers.h"
#include "core/bench/mark_views.h"
#include "core/bench/marks_file.h"
#include "core/bench/svg_sheet.h"

namespace macle {

using Eigen::Vector2d;
using Eigen::Vector3d;

namespace {

// Landscape A4, longer where many curves need a row.
constexpr double kPage_mm = 297.0, kLeast_mm = 210.0, kMargin_mm = 9.0;
constexpr double kCellWide_mm = 93.0, kCellHigh_mm = 74.0;
constexpr double kDrawnWide_mm = 74.0, kDrawnHigh_mm = 54.0;
constexpr double kTop_mm = 24.0;
constexpr double kRow_mm = 3.9;

std::string mm(double value) {
    return formatFixed(value, 3) + " mm";
}

// Okabe and Ito's set for every kind of sight; violet stands for planes that are cut.
Pen penOf(MarkKind kind) {
    switch (kind) {
        case MarkKind::Reference:
            return {"#6a3d9a", 0.5};
        case MarkKind::SawMiddle:
            return {"#0072b2", 0.25};
        case MarkKind::KerfBelow:
        case MarkKind::KerfAbove:
            return {"#d55e00", 0.35};
        case MarkKind::Girdle:
            return {"#009e73", 0.35};
    }
    return {};
}

// 1, 2 or 5 times a power of ten, at most `value`.
double roundScale(double value) {
    const double power = std::pow(10.0, std::floor(std::log10(value)));
    for (const double step : {5.0, 2.0})
        if (step * power <= value) return step * power;
    return power;
}

std::string scaleName(double scale) {
    return scale >= 1.0 ? formatExact(scale) + ":1" : "1:" + formatExact(std::round(1.0 / scale));
}

void scaleBar(SvgSheet& sheet, double x, double y, double scale) {
    constexpr double kLongest_mm = 25.0;
    const double length = roundScale(kLongest_mm / scale);
    const Pen pen{"#222222", 0.3, false};
    sheet.line(x, y, x + scale * length, y, pen);
    sheet.line(x, y - 1.0, x, y + 1.0, pen);
    sheet.line(x + scale * length, y - 1.0, x + scale * length, y + 1.0, pen);
    sheet.text(x + scale * length + 1.5, y + 0.9, formatExact(length) + " mm", 2.4);
}

// A place on the longest seen run (or hidden one), far from the tags that stand already.
struct TagPlace {
    Vector2d on = Vector2d::Zero();
    Vector2d at = Vector2d::Zero();
};
TagPlace tagPlace(const std::vector<DrawnRun>& runs, const std::vector<Vector2d>& placed,
                  const Vector2d& centre, double lead) {
    const DrawnRun* longest = nullptr;
    for (const DrawnRun& run : runs)
        if (longest == nullptr || run.seen > longest->seen ||
            (run.seen == longest->seen && run.length_mm > longest->length_mm))
            longest = &run;
    TagPlace best;
    if (longest == nullptr) return best;
    double room = -1.0;
    constexpr int kTries = 24;
    for (int k = 0; k < kTries; ++k) {
        const std::size_t i = (2 * static_cast<std::size_t>(k) + 1) * longest->points.size() /
                              (2 * static_cast<std::size_t>(kTries));
        const Vector2d on = longest->points[i];
        const Vector2d away = on - centre;
        const Vector2d at =
            on + lead * (away.norm() > 0.0 ? away.normalized() : Vector2d::UnitX().eval());
        double nearest = 2.0 * lead;
        for (const Vector2d& other : placed)
            nearest = std::min(nearest, (other - at).norm());
        if (nearest <= room) continue;
        room = nearest;
        best = {on, at};
    }
    return best;
}

void drawView(SvgSheet& sheet, const MarkView& view, const Marks& marks, double left, double top,
              double scale) {
    const Vector2d centre = 0.5 * (view.low + view.high);
    const double x = left + 0.5 * kCellWide_mm, y = top + 0.5 * (kCellHigh_mm + 4.0);
    const auto paper = [&](const Vector2d& p) -> Vector2d {
        return {x + scale * (p.x() - centre.x()), y - scale * (p.y() - centre.y())};
    };
    sheet.text(left + 1.0, top + 3.5, view.title, 3.0, true);
    sheet.beginView(view.title, x, y, centre, scale);
    sheet.path(view.outline, true, {"#777777", 0.2}, "outline of the rough");
    for (const bool seen : {false, true})
        for (std::size_t c = 0; c < view.runs.size(); ++c) {
            std::vector<std::vector<Vector2d>> lines;
            for (const DrawnRun& run : view.runs[c])
                if (run.seen == seen) lines.push_back(run.points);
            Pen pen = penOf(marks.curves[c].kind);
            pen.dashed = !seen;
            if (!seen) pen.width_mm *= 0.6;
            sheet.path(lines, false, pen, marks.curves[c].name);
        }
    sheet.endView();
    std::vector<Vector2d> placed;
    for (std::size_t p = 0; p < view.pointSeen.size(); ++p) {
        const Vector2d on = paper(view.axes.project(marks.references[0].points[p].point.place_mm));
        sheet.cross(on.x(), on.y(), !view.pointSeen[p]);
        sheet.text(on.x() + 1.2, on.y() - 1.0, std::string(1, static_cast<char>('A' + p)), 2.5,
                   true);
    }
    constexpr double kLead_mm = 4.5;
    for (std::size_t c = 0; c < view.runs.size(); ++c) {
        const TagPlace place = tagPlace(view.runs[c], placed, centre, kLead_mm / scale);
        placed.push_back(place.at);
        const Pen pen = penOf(marks.curves[c].kind);
        const Vector2d on = paper(place.on), at = paper(place.at);
        sheet.line(on.x(), on.y(), at.x(), at.y(), {pen.colour, 0.15, false});
        sheet.tag(at.x(), at.y(), std::to_string(c + 1), pen.colour);
    }
}

// Each saw's longest loop rolled out: the way along it against the height over the first plane.
void drawUnrolled(SvgSheet& sheet, const Marks& marks, double left, double top) {
    const ReferenceFace& face = marks.references.front();
    struct Strip {
        std::size_t curve;
        std::vector<Vector2d> points;
    };
    std::vector<Strip> strips;
    double longest = 0.0, low = 0.0, high = 0.0;
    for (std::size_t c = 0; c < marks.curves.size(); ++c) {
        const MarkCurve& curve = marks.curves[c];
        if (curve.saw < 0) continue;
        const SectionLoop& loop = curve.loops.front();
        const std::size_t n = loop.points.size();
        std::size_t start = 0;
        for (std::size_t i = 0; i < n; ++i)
            if (face.index0.dot(loop.points[i]) > face.index0.dot(loop.points[start])) start = i;
        Strip strip{c, {}};
        double way = 0.0;
        for (std::size_t k = 0; k <= n; ++k) {
            const Vector3d& here = loop.points[(start + k) % n];
            const double height = face.plane.heightOf(here);
            strip.points.emplace_back(way, height);
            low = std::min(low, height);
            high = std::max(high, height);
            way += (loop.points[(start + k + 1) % n] - here).norm();
        }
        longest = std::max(longest, strip.points.back().x());
        strips.push_back(std::move(strip));
    }
    sheet.text(left + 1.0, top + 3.5, "Saws rolled out: height over the reference face", 3.0, true);
    if (strips.empty() || !(longest > 0.0)) {
        sheet.text(left + 1.0, top + 8.5, "No saws.", 2.6);
        return;
    }
    const double scale = roundScale(
        std::min(0.9 * kCellWide_mm / longest, kDrawnHigh_mm / std::max(high - low, 1e-3)));
    const double x = left + 4.0, y = top + 0.5 * (kCellHigh_mm + 4.0);
    const double middle = 0.5 * (low + high);
    sheet.beginView("Saws rolled out", x, y, {0.0, middle}, scale);
    sheet.path({{{0.0, 0.0}, {longest, 0.0}}}, false, {"#6a3d9a", 0.3}, "reference face");
    for (const Strip& strip : strips)
        sheet.path({strip.points}, false, penOf(marks.curves[strip.curve].kind),
                   marks.curves[strip.curve].name);
    sheet.endView();
    for (std::size_t s = 0; s < strips.size(); ++s) {
        const Strip& strip = strips[s];
        const std::size_t i = (2 * s + 1) * strip.points.size() / (2 * strips.size());
        sheet.tag(x + scale * strip.points[i].x(), y - scale * (strip.points[i].y() - middle) - 3.0,
                  std::to_string(strip.curve + 1), penOf(marks.curves[strip.curve].kind).colour);
    }
    sheet.text(left + 1.0, top + kCellHigh_mm - 2.0,
               "Scale " + scaleName(scale) +
                   "; from the place farthest along index 0, "
                   "counter-clockwise",
               2.3);
}

double describeFace(SvgSheet& sheet, const ReferenceFace& face, double left, double top) {
    constexpr std::size_t kLetters = 68;
    constexpr double kSize_mm = 2.5;
    sheet.text(left + 1.0, top + 3.5, "How to find the reference face", 3.0, true);
    double y = top + 8.0;
    for (const std::string& line : referenceFaceWords(face))
        y = sheet.paragraph(left + 1.0, y, line, kLetters, kSize_mm);
    return y;
}

}  // namespace

std::string marksSvg(const Marks& marks, const TriangleMesh& skin, const MarksHeading& heading) {
    const std::vector<MarkView> views = markViews(marks, skin);
    double wide = 0.0, high = 0.0;
    for (const MarkView& view : views) {
        wide = std::max(wide, (view.high - view.low).x());
        high = std::max(high, (view.high - view.low).y());
    }
    const double scale = roundScale(
        std::min(kDrawnWide_mm / std::max(wide, 1e-6), kDrawnHigh_mm / std::max(high, 1e-6)));
    SvgSheet sheet;
    const std::string title = "Marks on the skin: " + heading.stone + ", " + heading.layout;
    sheet.text(kMargin_mm, 12.0, title, 4.2, true);
    sheet.text(kMargin_mm, 17.5,
               "Views at " + scaleName(scale) +
                   " when printed at full size; lengths on the stone in mm. Solid: in sight. "
                   "Dashed: hidden, or inside the stone on the face of an earlier saw. Grey: "
                   "outline of the rough.",
               2.6);
    scaleBar(sheet, kMargin_mm, 21.5, scale);
    const auto left = [](int column) { return kMargin_mm + column * kCellWide_mm; };
    for (int v = 0; v < 4; ++v)
        drawView(sheet, views[static_cast<std::size_t>(v)], marks, left(v % 3),
                 kTop_mm + (v / 3) * kCellHigh_mm, scale);
    double y = kTop_mm + 2.0 * kCellHigh_mm;
    if (!marks.references.empty()) {
        drawUnrolled(sheet, marks, left(1), kTop_mm + kCellHigh_mm);
        y = std::max(
            y, describeFace(sheet, marks.references.front(), left(2), kTop_mm + kCellHigh_mm));
    }
    y += 4.0;
    const std::size_t rows = (marks.curves.size() + 2) / 3;
    for (std::size_t c = 0; c < marks.curves.size(); ++c) {
        const MarkCurve& curve = marks.curves[c];
        const double x = left(static_cast<int>(c / std::max<std::size_t>(rows, 1)));
        const double at = y + kRow_mm * static_cast<double>(c % std::max<std::size_t>(rows, 1));
        sheet.line(x + 1.0, at - 0.8, x + 7.0, at - 0.8, penOf(curve.kind));
        std::string words = std::to_string(c + 1) + "  " + curve.name + ": " + mm(curve.length_mm);
        if (curve.length_mm - curve.skin_mm >= 0.5e-3)
            words += ", " + mm(curve.skin_mm) + " of it on skin";
        if (curve.loops.size() > 1) words += ", " + std::to_string(curve.loops.size()) + " loops";
        sheet.text(x + 8.5, at, words, 2.6);
    }
    y += kRow_mm * static_cast<double>(rows) + 2.0;
    constexpr std::size_t kLetters = 200;
    for (const std::string& remark : marks.remarks)
        y = sheet.paragraph(kMargin_mm, y, remark, kLetters, 2.5);
    for (const std::string& caution : marks.cautions)
        y = sheet.paragraph(kMargin_mm, y, caution, kLetters, 2.5);
    return sheet.document(kPage_mm, std::max(kLeast_mm, y + 4.0), title);
}

}  // namespace macle
