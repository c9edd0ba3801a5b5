#include "app/print/sheet_page.h"

#include <QFontDatabase>
#include <QFontMetricsF>

#include "core/base/error.h"

namespace macle::app {

namespace {

QString qt(const std::string& text) {
    return QString::fromStdString(text);
}

QString chosenFamily(const QStringList& families, const QString& wanted) {
    return families.contains(wanted) ? wanted : families.front();
}

}  // namespace

QColor inkColour(Ink ink) {
    switch (ink) {
        case Ink::Text:
            return QColor(0x1a, 0x1a, 0x1a);
        case Ink::Quiet:
            return QColor(0x5c, 0x5c, 0x5c);
        case Ink::Rule:
            return QColor(0xb4, 0xb4, 0xb4);
    }
    return Qt::black;
}

SheetPages::SheetPages(QPdfWriter& device, const PlanSheet& sheet, int totalPages)
    : device_(device),
      sheet_(sheet),
      total_(totalPages),
      perMm_(double(device.resolution()) / 25.4) {
    const QStringList families = QFontDatabase::families();
    if (families.isEmpty())
        throw Error(ErrorCode::NotFound, "No font is installed, so the sheet would have no text.",
                    "Install one, for example the package fonts-dejavu-core.");
    family_ = chosenFamily(families, QStringLiteral("DejaVu Sans"));
    monoFamily_ = chosenFamily(families, QStringLiteral("DejaVu Sans Mono"));
    if (!painter_.begin(&device))
        throw Error(ErrorCode::Io, "The sheet cannot be drawn.", "Check the disk space.");
    decorate();
}

QFont SheetPages::font(double points, bool bold, bool mono) const {
    QFont font(mono ? monoFamily_ : family_);
    font.setPointSizeF(points);
    font.setBold(bold);
    // Any spacing at all keeps "fi" two letters, so that the text of the file can be searched.
    font.setLetterSpacing(QFont::AbsoluteSpacing, 0.05);
    return font;
}

double SheetPages::textWidth(const QString& words, const QFont& font) const {
    return QFontMetricsF(font, &device_).horizontalAdvance(words) / perMm_;
}

void SheetPages::text(double x, double baseline, double width, const QString& words,
                      const QFont& font, Ink ink, Qt::Alignment alignment) {
    const QFontMetricsF metrics(font, &device_);
    const QString shown = metrics.elidedText(words, Qt::ElideRight, px(width));
    const double taken = metrics.horizontalAdvance(shown) / perMm_;
    double from = x;
    if (alignment & Qt::AlignRight) from = x + width - taken;
    if (alignment & Qt::AlignHCenter) from = x + 0.5 * (width - taken);
    painter_.setFont(font);
    painter_.setPen(inkColour(ink));
    painter_.drawText(at(from, baseline), shown);
}

double SheetPages::paragraph(double x, double top, double width, const QString& words,
                             const QFont& font, Ink ink, bool measureOnly) {
    const QRectF room(px(x), px(top), px(width), px(kHeight));
    const QFontMetricsF metrics(font, &device_);
    const int flags = Qt::AlignLeft | Qt::AlignTop | Qt::TextWordWrap;
    const double height = metrics.boundingRect(room, flags, words).height() / perMm_;
    if (!measureOnly) {
        painter_.setFont(font);
        painter_.setPen(inkColour(ink));
        painter_.drawText(room, flags, words);
    }
    return height;
}

void SheetPages::line(double x1, double y1, double x2, double y2, double width,
                      const QColor& colour, Qt::PenStyle style) {
    painter_.setPen(QPen(colour, px(width), style, Qt::FlatCap));
    painter_.drawLine(at(x1, y1), at(x2, y2));
}

void SheetPages::heading(const QString& words) {
    constexpr double kAbove = 5.5, kWithFirstLines = 20.0;
    need(kWithFirstLines);
    y += kAbove;
    text(kLeft, y, kContent, words, font(9.5, true));
    y += 1.4;
    line(kLeft, y, kRight, y, 0.15, inkColour(Ink::Rule));
    y += 2.0;
}

double SheetPages::table(double x, double top, const std::vector<Column>& columns,
                         const std::vector<std::vector<QString>>& rows) {
    constexpr double kGap = 2.4;
    double width = 0.0;
    for (const Column& column : columns)
        width += column.width;
    const auto row = [&](double baseline, const auto& cellText, const QFont& face, Ink ink) {
        double from = x;
        for (std::size_t c = 0; c < columns.size(); ++c) {
            text(from + kGap / 2, baseline, columns[c].width - kGap, cellText(c), face, ink,
                 columns[c].right ? Qt::AlignRight : Qt::AlignLeft);
            from += columns[c].width;
        }
    };
    row(
        top + 2.8, [&](std::size_t c) { return columns[c].title; }, font(6.5), Ink::Quiet);
    line(x, top + kRow, x + width, top + kRow, 0.15, inkColour(Ink::Rule));
    const QFont face = font(7.5);
    for (std::size_t r = 0; r < rows.size(); ++r) {
        const double rowTop = top + kRow * double(r + 1);
        if (r % 2 == 1)
            painter_.fillRect(QRectF(at(x, rowTop), at(x + width, rowTop + kRow)),
                              QColor(0xf4, 0xf4, 0xf4));
        row(
            rowTop + 2.95, [&](std::size_t c) { return rows[r][c]; }, face, Ink::Text);
    }
    return kRow * double(rows.size() + 1);
}

void SheetPages::need(double height) {
    if (y + height > kBottom) newPage();
}

void SheetPages::newPage() {
    if (!device_.newPage())
        throw Error(ErrorCode::Io, "A page of the sheet could not be written.",
                    "Check the disk space.");
    ++page_;
    decorate();
}

void SheetPages::decorate() {
    const bool approved = sheet_.state.state == "approved";
    const QString state = qt(sheet_.state.state).toUpper();
    const QString warning = sheet_.state.state == "replaced"
                                ? QStringLiteral("another took its place: do not cut")
                                : QStringLiteral("not approved: do not cut");
    constexpr double kTop = 12.0, kBoxWidth = 46.0;
    if (page_ == 1) {
        text(kLeft, kTop + 6.5, 110.0, QStringLiteral("Plan sheet"), font(17, true));
    } else {
        text(kLeft, kTop + 5.0, 125.0,
             QStringLiteral("Plan sheet: ") + qt(sheet_.stoneName) + QStringLiteral(", ") +
                 qt(sheet_.layoutName),
             font(10, true));
    }
    const QRectF box(at(kRight - kBoxWidth, kTop), at(kRight, kTop + 10.0));
    painter_.setPen(QPen(inkColour(Ink::Text), px(0.5)));
    painter_.setBrush(Qt::NoBrush);
    painter_.drawRect(box);
    text(kRight - kBoxWidth, kTop + (approved ? 6.6 : 5.0), kBoxWidth, state, font(11, true),
         Ink::Text, Qt::AlignHCenter);
    if (!approved)
        text(kRight - kBoxWidth, kTop + 8.4, kBoxWidth, warning, font(6.5), Ink::Text,
             Qt::AlignHCenter);
    y = kTop + 13.0;

    constexpr double kFoot = 287.0;
    line(kLeft, kFoot - 4.5, kRight, kFoot - 4.5, 0.15, inkColour(Ink::Rule));
    text(kLeft, kFoot, 20.0, QStringLiteral("SHA-256"), font(6), Ink::Quiet);
    text(kLeft + 12.0, kFoot, 110.0, qt(sheet_.hash), font(6.5, false, true), Ink::Quiet);
    text(kRight - 60.0, kFoot, 60.0,
         QStringLiteral("%1, page %2 of %3").arg(qt(sheet_.state.state)).arg(page_).arg(total_),
         font(7), Ink::Quiet, Qt::AlignRight);
}

}  // namespace macle::app
