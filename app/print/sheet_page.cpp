#include "app/print/sheet_page.h"

#include <QFontDatabase>
#include <QFontMetricsF>
#include <QPainterPath>
#include <algorithm>
#include <cmath>

#include "core/base/error.h"
#include "core/base/numbers.h"

namespace macle::app {

namespace {

QString chosenFamily(const QStringList& families, const QString& wanted) {
    return families.contains(wanted) ? wanted : families.front();
}

}  // namespace

QString qt(const std::string& text) {
    return QString::fromStdString(text);
}

QString number(double value, int decimals) {
    return qt(formatFixed(value, decimals));
}

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

SheetPages::SheetPages(PageTarget& target, const PlanSheet& sheet, int totalPages)
    : target_(target), sheet_(sheet), painter_(nullptr), total_(totalPages) {
    const QStringList families = QFontDatabase::families();
    if (families.isEmpty())
        throw Error(ErrorCode::NotFound, "No font is installed, so the sheet would have no text.",
                    "Install one, for example the package fonts-dejavu-core.");
    family_ = chosenFamily(families, QStringLiteral("DejaVu Sans"));
    monoFamily_ = chosenFamily(families, QStringLiteral("DejaVu Sans Mono"));
    painter_ = &target_.page(page_);
    decorate();
}

QFont SheetPages::font(double points, bool bold, bool mono) const {
    QFont font(mono ? monoFamily_ : family_);
    // In the drawing's own units: the same widths on every device.
    font.setPixelSize(static_cast<int>(std::lround(points * kUnitsPerInch / 72.0)));
    font.setHintingPreference(QFont::PreferNoHinting);
    font.setBold(bold);
    // Any spacing at all keeps "fi" two letters, so that the text of the file can be searched.
    font.setLetterSpacing(QFont::AbsoluteSpacing, 0.05);
    return font;
}

double SheetPages::textWidth(const QString& words, const QFont& font) const {
    return QFontMetricsF(font).horizontalAdvance(words) / kUnitsPerMm;
}

void SheetPages::text(double x, double baseline, double width, const QString& words,
                      const QFont& font, Ink ink, Qt::Alignment alignment) {
    const QFontMetricsF metrics(font);
    const QString shown = metrics.elidedText(words, Qt::ElideRight, px(width));
    const double taken = metrics.horizontalAdvance(shown) / kUnitsPerMm;
    double from = x;
    if (alignment & Qt::AlignRight) from = x + width - taken;
    if (alignment & Qt::AlignHCenter) from = x + 0.5 * (width - taken);
    painter_->setFont(font);
    painter_->setPen(inkColour(ink));
    painter_->drawText(at(from, baseline), shown);
}

double SheetPages::paragraph(double x, double top, double width, const QString& words,
                             const QFont& font, Ink ink, bool measureOnly) {
    // Broken here and not by the painter, whose widths differ a little from device to device.
    const QFontMetricsF metrics(font);
    const auto fits = [&](const QString& line) {
        return metrics.horizontalAdvance(line) <= px(width);
    };
    QStringList lines(QString{});
    for (QString word : words.split(QLatin1Char(' '))) {
        const QString longer =
            lines.back().isEmpty() ? word : lines.back() + QLatin1Char(' ') + word;
        if (fits(longer)) {
            lines.back() = longer;
            continue;
        }
        if (!lines.back().isEmpty()) lines.push_back(QString{});
        for (qsizetype length = word.size(); !fits(word); length = word.size()) {
            while (length > 1 && !fits(word.left(length)))
                --length;
            if (word.at(length - 1).isHighSurrogate()) length += length > 1 ? -1 : 1;
            lines.back() = word.left(length);
            lines.push_back(QString{});
            word.remove(0, length);
        }
        lines.back() = word;
    }
    const double height = double(lines.size()) * metrics.lineSpacing() / kUnitsPerMm;
    if (!measureOnly) {
        painter_->setFont(font);
        painter_->setPen(inkColour(ink));
        for (qsizetype k = 0; k < lines.size(); ++k)
            painter_->drawText(
                QPointF(px(x), px(top) + metrics.ascent() + double(k) * metrics.lineSpacing()),
                lines[k]);
    }
    return height;
}

void SheetPages::line(double x1, double y1, double x2, double y2, double width,
                      const QColor& colour, Qt::PenStyle style) {
    painter_->setPen(QPen(colour, px(width), style, Qt::FlatCap));
    painter_->drawLine(at(x1, y1), at(x2, y2));
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
            painter_->fillRect(QRectF(at(x, rowTop), at(x + width, rowTop + kRow)),
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
    markAcross();
    painter_ = &target_.page(++page_);
    decorate();
}

void SheetPages::finish() {
    markAcross();
}

void SheetPages::subheading(const QString& words) {
    constexpr double kWithFirstLines = 14.0;
    need(kWithFirstLines);
    text(kLeft, y + 3.6, kContent, words, font(8, true));
    y += 5.4;
}

void SheetPages::words(const QString& words, double points, Ink ink) {
    const QFont face = font(points);
    need(paragraph(kLeft, y, kContent, words, face, ink, true));
    y += paragraph(kLeft, y, kContent, words, face, ink) + 0.8;
}

void SheetPages::list(const std::vector<std::string>& lines, bool numbered) {
    const QFont face = font(8);
    constexpr double kIndent = 5.0;
    for (std::size_t i = 0; i < lines.size(); ++i) {
        const QString line = qt(lines[i]);
        const double width = kContent - kIndent;
        need(paragraph(0, 0, width, line, face, Ink::Text, true));
        paragraph(
            kLeft, y, kIndent,
            numbered ? QString::number(i + 1) + QStringLiteral(".") : QStringLiteral("\u2013"),
            face, Ink::Quiet);
        y += paragraph(kLeft + kIndent, y, width, line, face) + 0.6;
    }
}

void SheetPages::flowTable(const std::vector<Column>& columns,
                           const std::vector<std::vector<QString>>& rows) {
    for (std::size_t next = 0; next < rows.size();) {
        need(2.0 * kRow);
        const auto fit = static_cast<std::size_t>((kBottom - y) / kRow) - 1;
        const std::size_t end = std::min(rows.size(), next + fit);
        y += table(kLeft, y, columns,
                   {rows.begin() + std::ptrdiff_t(next), rows.begin() + std::ptrdiff_t(end)});
        next = end;
    }
    y += 1.0;
}

void SheetPages::flowHalves(const std::vector<Column>& columns,
                            const std::vector<std::vector<QString>>& rows) {
    for (std::size_t next = 0; next < rows.size();) {
        need(2.0 * kRow);
        const auto fit = static_cast<std::size_t>((kBottom - y) / kRow) - 1;
        const std::size_t perHalf = std::min(fit, (rows.size() - next + 1) / 2);
        double taken = 0.0;
        for (int side = 0; side < 2 && next < rows.size(); ++side) {
            const std::size_t end = std::min(rows.size(), next + perHalf);
            taken = std::max(taken, table(kLeft + side * (kHalf + kHalfGap), y, columns,
                                          {rows.begin() + std::ptrdiff_t(next),
                                           rows.begin() + std::ptrdiff_t(end)}));
            next = end;
        }
        y += taken;
    }
    y += 1.0;
}

// Over everything on the page, as outlines and not as text, so that the text of the file stays
// whole where the mark crosses it.
void SheetPages::markAcross() {
    if (sheet_.state.state == "approved") return;
    const QString words = sheet_.state.state == "replaced"
                              ? QStringLiteral("REPLACED \u2013 DO NOT CUT")
                              : QStringLiteral("DRAFT \u2013 NOT APPROVED");
    constexpr double kPoints = 54.0, kLean_deg = -55.0;
    const QColor mark(0, 0, 0, 26);
    QPainterPath path;
    const QFont face = font(kPoints, true);
    const double width = QFontMetricsF(face).horizontalAdvance(words);
    path.addText(QPointF(-0.5 * width, px(6.0)), face, words);
    painter_->save();
    painter_->translate(at(0.5 * kWidth, 0.5 * kHeight));
    painter_->rotate(kLean_deg);
    painter_->setPen(Qt::NoPen);
    painter_->setBrush(mark);
    painter_->drawPath(path);
    painter_->restore();
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
    painter_->setPen(QPen(inkColour(Ink::Text), px(0.5)));
    painter_->setBrush(Qt::NoBrush);
    painter_->drawRect(box);
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
