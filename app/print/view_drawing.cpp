#include "app/print/view_drawing.h"

#include <QPainterPath>
#include <QPolygonF>
#include <algorithm>
#include <array>
#include <cmath>

#include "core/base/numbers.h"

namespace macle::app {

namespace {

// Room in a cell around the drawing: title above, dimensions below and at the right.
constexpr double kAbove = 6.0, kBelow = 9.0, kBeside = 14.0, kLeftRoom = 2.0;

const QColor kRoughLine(0x8a, 0x8a, 0x8a);
const QColor kRoughFill(0xf3, 0xf3, 0xf3);
const QColor kOffFill(0xd2, 0xd2, 0xd2);
const QColor kFreshFill(0xf6, 0xe7, 0xc4);
const QColor kEdge(0x10, 0x10, 0x10);
const QColor kHidden(0x9a, 0x9a, 0x9a);
const QColor kDefectLine(0xb5, 0x36, 0x7a);  // middle of the published magma map
const QColor kDefectFill(0xf0, 0xd3, 0xe2);
const QColor kReference(0x6a, 0x3d, 0x9a);
const QColor kDimension(0x40, 0x40, 0x40);

struct Extent {
    Eigen::Vector2d low{0, 0}, high{0, 0};
    bool any = false;
    void add(const Eigen::Vector2d& p) {
        low = any ? low.cwiseMin(p).eval() : p;
        high = any ? high.cwiseMax(p).eval() : p;
        any = true;
    }
};

Extent designExtent(const SheetView& view) {
    Extent extent;
    for (const auto* edges : {&view.visibleEdges, &view.hiddenEdges, &view.freshEdges})
        for (const auto& edge : *edges)
            for (const auto& end : edge)
                extent.add(end);
    return extent;
}

Extent wholeExtent(const SheetView& view) {
    Extent extent = designExtent(view);
    for (const auto* loops :
         {&view.roughOutline, &view.bodyOutline, &view.defectOutlines, &view.saws})
        for (const auto& loop : *loops)
            for (const auto& p : loop)
                extent.add(p);
    return extent;
}

class ViewPainter {
  public:
    ViewPainter(SheetPages& pages, const SheetView& view, const Cell& cell, double scale)
        : pages_(pages), view_(view), scale_(scale), whole_(wholeExtent(view)) {
        const Eigen::Vector2d size = scale * (whole_.high - whole_.low);
        const double freeX = cell.width - kLeftRoom - kBeside - size.x();
        const double freeY = cell.height - kAbove - kBelow - size.y();
        left_ = cell.left + kLeftRoom + 0.5 * freeX;
        top_ = cell.top + kAbove + 0.5 * freeY;
    }

    double x(double u) const { return left_ + scale_ * (u - whole_.low.x()); }
    double y(double v) const { return top_ + scale_ * (whole_.high.y() - v); }
    QPointF at(const Eigen::Vector2d& p) const { return pages_.at(x(p.x()), y(p.y())); }

    void loops(const std::vector<std::vector<Eigen::Vector2d>>& outlines, const QColor& fill,
               const QColor& stroke, double width, Qt::PenStyle style) {
        QPainterPath path;
        path.setFillRule(Qt::WindingFill);
        for (const auto& loop : outlines) {
            QPolygonF polygon;
            for (const auto& p : loop)
                polygon << at(p);
            path.addPolygon(polygon);
            path.closeSubpath();
        }
        QPainter& painter = pages_.painter();
        painter.setPen(QPen(stroke, pages_.px(width), style, Qt::FlatCap, Qt::RoundJoin));
        painter.setBrush(fill);
        painter.drawPath(path);
        painter.setBrush(Qt::NoBrush);
    }

    void edges(const std::vector<std::array<Eigen::Vector2d, 2>>& list, const QPen& pen) {
        QPainter& painter = pages_.painter();
        painter.setPen(pen);
        for (const auto& edge : list)
            painter.drawLine(at(edge[0]), at(edge[1]));
    }

    void labels() {
        constexpr double kWord = 30.0;
        for (const ViewLabel& label : view_.labels)
            pages_.text(x(label.at.x()) - kWord / 2, y(label.at.y()) - 0.8, kWord, qt(label.text),
                        pages_.font(7, true), Ink::Text, Qt::AlignHCenter);
    }

    void centreMarks() {
        constexpr double kHalf = 2.0;
        const double cx = x(0), cy = y(0);
        pages_.line(cx - kHalf, cy, cx + kHalf, cy, 0.1, kReference);
        pages_.line(cx, cy - kHalf, cx, cy + kHalf, 0.1, kReference);
    }

    // Where azimuth 0 is: index 0 lies on the right in every view that shows x.
    void indexMark(const Extent& design) {
        const double tip = x(design.high.x()) + 0.6, cy = y(0);
        pages_.line(tip, cy, tip + 2.2, cy, 0.3, kReference);
    }

    // The reference face seen from the side: a violet line with hatching on the side cut away.
    void referenceFace(const Extent& design) {
        const double height = y(design.high.y());
        const double from = x(whole_.low.x()), to = x(whole_.high.x());
        pages_.line(from, height, to, height, 0.2, kReference);
        constexpr double kEvery = 1.6, kHatch = 1.1;
        for (double h = from; h + kHatch <= to; h += kEvery)
            pages_.line(h, height, h + kHatch, height - kHatch, 0.1, kReference);
    }

    void dimensions(const Extent& design) {
        constexpr double kOff = 3.5, kOver = 1.0, kArrow = 1.4;
        const QFont face = pages_.font(7);
        const double below = y(whole_.low.y()) + kOff, beside = x(whole_.high.x()) + kOff;
        const double x1 = x(design.low.x()), x2 = x(design.high.x());
        const double y1 = y(design.high.y()), y2 = y(design.low.y());
        pages_.line(x1, y(design.low.y()) + 0.8, x1, below + kOver, 0.08, kDimension);
        pages_.line(x2, y(design.low.y()) + 0.8, x2, below + kOver, 0.08, kDimension);
        pages_.line(x1, below, x2, below, 0.1, kDimension);
        pages_.line(x2 + 0.8, y1, beside + kOver, y1, 0.08, kDimension);
        pages_.line(x2 + 0.8, y2, beside + kOver, y2, 0.08, kDimension);
        pages_.line(beside, y1, beside, y2, 0.1, kDimension);
        arrow(x1, below, kArrow, 0);
        arrow(x2, below, -kArrow, 0);
        arrow(beside, y1, 0, kArrow);
        arrow(beside, y2, 0, -kArrow);
        constexpr double kWord = 30.0;
        pages_.text(0.5 * (x1 + x2) - kWord / 2, below + 3.4, kWord, number(view_.width_mm, 3),
                    face, Ink::Text, Qt::AlignHCenter);
        QPainter& painter = pages_.painter();
        painter.save();
        painter.translate(pages_.at(beside + 3.4, 0.5 * (y1 + y2)));
        painter.rotate(-90);
        pages_.text(-kWord / 2, 0, kWord, number(view_.height_mm, 3), face, Ink::Text,
                    Qt::AlignHCenter);
        painter.restore();
    }

  private:
    void arrow(double tipX, double tipY, double dx, double dy) {
        QPolygonF head;
        head << pages_.at(tipX, tipY) << pages_.at(tipX + dx - 0.22 * dy, tipY + dy + 0.22 * dx)
             << pages_.at(tipX + dx + 0.22 * dy, tipY + dy - 0.22 * dx);
        QPainter& painter = pages_.painter();
        painter.setPen(Qt::NoPen);
        painter.setBrush(kDimension);
        painter.drawPolygon(head);
        painter.setBrush(Qt::NoBrush);
    }

    SheetPages& pages_;
    const SheetView& view_;
    double scale_;
    Extent whole_;
    double left_ = 0.0, top_ = 0.0;
};

// 1, 2 or 5 times a power of ten, in stone mm, for a bar of at most `most` paper mm.
double barLength(double scale, double most) {
    const double wish = most / scale;
    const double decade = std::pow(10.0, std::floor(std::log10(wish)));
    for (const double step : {5.0, 2.0})
        if (step * decade <= wish) return step * decade;
    return decade;
}

}  // namespace

double commonScale(const std::vector<SheetView>& views, double cellWidth, double cellHeight) {
    double largest = 1e9;
    for (const SheetView& view : views) {
        const Extent whole = wholeExtent(view);
        const Eigen::Vector2d size = whole.high - whole.low;
        if (size.x() > 0.0)
            largest = std::min(largest, (cellWidth - kLeftRoom - kBeside) / size.x());
        if (size.y() > 0.0) largest = std::min(largest, (cellHeight - kAbove - kBelow) / size.y());
    }
    // Reducing scales as in ISO 5455, and the steps between that make better use of the paper.
    constexpr std::array<double, 20> kScales = {500, 200, 100, 50, 40, 30, 25,  20, 15,  12,
                                                10,  8,   6,   5,  4,  3,  2.5, 2,  1.5, 1};
    for (const double scale : kScales)
        if (scale <= largest) return scale;
    double reduced = 0.5;
    while (reduced > largest)
        reduced /= 2.0;
    return reduced;
}

QString scaleName(double scale) {
    const auto text = [](double v) { return QString::fromStdString(formatExact(v)); };
    return scale >= 1.0 ? text(scale) + QStringLiteral(":1")
                        : QStringLiteral("1:") + text(1.0 / scale);
}

void drawView(SheetPages& pages, const SheetView& view, const Cell& cell, double scale) {
    pages.text(cell.left, cell.top + 3.6, cell.width, QString::fromStdString(view.title),
               pages.font(8, true));
    ViewPainter painter(pages, view, cell, scale);
    const auto pen = [&](const QColor& colour, double width) {
        return QPen(colour, pages.px(width), Qt::SolidLine, Qt::RoundCap);
    };
    const bool step = !view.bodyOutline.empty();
    painter.loops(view.roughOutline, step ? kOffFill : kRoughFill, kRoughLine, 0.25, Qt::SolidLine);
    painter.loops(view.bodyOutline, Qt::white, kEdge, 0.2, Qt::SolidLine);
    painter.loops(view.defectOutlines, kDefectFill, kDefectLine, 0.2, Qt::SolidLine);
    painter.loops(view.freshFacets, kFreshFill, kFreshFill, 0.02, Qt::SolidLine);
    painter.loops(view.saws, Qt::transparent, kReference, 0.25, Qt::SolidLine);
    QPen hidden(kHidden, pages.px(0.1), Qt::CustomDashLine, Qt::FlatCap);
    hidden.setDashPattern({8.0, 6.0});
    painter.edges(view.hiddenEdges, hidden);
    painter.edges(view.visibleEdges, pen(kEdge, step ? 0.1 : 0.18));
    painter.edges(view.freshEdges, pen(kEdge, 0.25));
    painter.labels();
    if (!(view.width_mm > 0.0)) return;
    const Extent design = designExtent(view);
    if (view.fromSide())
        painter.referenceFace(design);
    else
        painter.indexMark(design);
    painter.centreMarks();
    painter.dimensions(design);
}

namespace {

double drawLegend(SheetPages& pages, double left, double top, double width, double scale,
                  bool defects, bool dimensioned) {
    const QFont face = pages.font(7);
    const double bar = barLength(scale, std::min(50.0, width - 20.0));
    double y = top + 3.2;
    pages.text(left, y, width, QStringLiteral("Scale ") + scaleName(scale), pages.font(10, true));
    y += 3.6;
    constexpr int kParts = 5;
    for (int i = 0; i < kParts; ++i) {
        const double from = left + scale * bar * i / kParts;
        const QRectF piece(pages.at(from, y),
                           pages.at(left + scale * bar * (i + 1) / kParts, y + 1.6));
        pages.painter().setPen(QPen(kEdge, pages.px(0.15)));
        pages.painter().setBrush(i % 2 == 0 ? QBrush(kEdge) : QBrush(Qt::white));
        pages.painter().drawRect(piece);
    }
    pages.painter().setBrush(Qt::NoBrush);
    pages.text(left + scale * bar + 1.5, y + 1.7, 25.0,
               QString::fromStdString(formatExact(bar)) + QStringLiteral(" mm"), face);
    y += 5.4;
    y += pages.paragraph(left, y - 2.6, width,
                         QStringLiteral("Dimensions in mm. Print at 100 %: the bar is then %1 mm "
                                        "long on paper.")
                             .arg(number(scale * bar, 1)),
                         pages.font(6.5), Ink::Quiet);
    y += 0.8;

    struct Kind {
        QString name;
        QColor colour;
        double width;
        Qt::PenStyle style;
    };
    std::vector<Kind> kinds = {
        {QStringLiteral("edge of a facet"), kEdge, 0.25, Qt::SolidLine},
        {QStringLiteral("outline of the rough"), kRoughLine, 0.35, Qt::SolidLine},
        {dimensioned ? QStringLiteral("table plane, centre, index 0") : QStringLiteral("saw"),
         kReference, 0.3, Qt::SolidLine}};
    if (dimensioned) kinds.push_back({QStringLiteral("hidden edge"), kHidden, 0.15, Qt::DashLine});
    if (defects) kinds.push_back({QStringLiteral("defect"), kDefectLine, 0.35, Qt::SolidLine});
    // As wide as the longest name needs.
    double longest = 0.0;
    for (const Kind& kind : kinds)
        longest = std::max(longest, pages.textWidth(kind.name, pages.font(6.5)));
    const int columns = std::clamp(int(width / (longest + 7.5)), 1, int(kinds.size()));
    for (std::size_t i = 0; i < kinds.size(); ++i) {
        const double x = left + width / columns * double(int(i) % columns);
        const double row = y + 4.0 * double(int(i) / columns);
        pages.line(x, row - 1.0, x + 5.0, row - 1.0, kinds[i].width, kinds[i].colour,
                   kinds[i].style);
        pages.text(x + 6.0, row, width / columns - 6.5, kinds[i].name, pages.font(6.5));
    }
    y += 4.0 * double((int(kinds.size()) + columns - 1) / columns);
    return y - top;
}

}  // namespace

void drawViews(SheetPages& pages, const std::vector<SheetView>& views, double cellHeight,
               bool legend) {
    constexpr double kGap = 4.0;
    const double cellWidth = 0.5 * (SheetPages::kContent - kGap);
    const double scale = commonScale(views, cellWidth, cellHeight);
    const double top = pages.y;
    bool defects = false, dimensioned = false;
    for (std::size_t i = 0; i < views.size(); ++i) {
        drawView(pages, views[i],
                 {SheetPages::kLeft + (cellWidth + kGap) * double(i % 2),
                  top + cellHeight * double(i / 2), cellWidth, cellHeight},
                 scale);
        defects = defects || !views[i].defectOutlines.empty();
        dimensioned = dimensioned || views[i].width_mm > 0.0;
    }
    const double rows = double((views.size() + 1) / 2);
    pages.y = top + cellHeight * rows + 1.0;
    if (!legend) return;
    if (views.size() % 2 == 1)
        drawLegend(pages, SheetPages::kLeft + cellWidth + kGap,
                   top + cellHeight * (rows - 1.0) + 2.0, cellWidth, scale, defects, dimensioned);
    else
        pages.y += drawLegend(pages, SheetPages::kLeft, pages.y, SheetPages::kContent, scale,
                              defects, dimensioned);
}

}  // namespace macle::app
