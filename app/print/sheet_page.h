// SheetPages: A4 pages in millimetres with a cursor that moves down, and the head and foot every
// page of a plan sheet carries.
#pragma once

#include <QColor>
#include <QFont>
#include <QPainter>
#include <QString>
#include <vector>

#include "app/print/page_target.h"
#include "core/bench/plan_sheet.h"

namespace macle::app {

enum class Ink { Text, Quiet, Rule };

QColor inkColour(Ink ink);

QString qt(const std::string& text);
QString number(double value, int decimals);

class SheetPages {
  public:
    static constexpr double kWidth = 210.0, kHeight = 297.0;
    static constexpr double kLeft = 15.0, kRight = 195.0, kBottom = 279.0;
    static constexpr double kContent = kRight - kLeft;

    // `totalPages` goes into "page n of m"; 0 while counting.
    SheetPages(PageTarget& target, const PlanSheet& sheet, int totalPages);

    int page() const { return page_; }
    double y = 0.0;  // the cursor
    // Starts a page unless `height` more millimetres fit on this one.
    void need(double height);
    void newPage();
    void finish();  // the last page; nothing may be drawn after it

    QPainter& painter() { return *painter_; }
    double px(double mm) const { return mm * kUnitsPerMm; }
    QPointF at(double xMm, double yMm) const { return {px(xMm), px(yMm)}; }
    QFont font(double points, bool bold = false, bool mono = false) const;

    // One line with its baseline at `baseline`; cut with an ellipsis when wider than `width`.
    // Alignment: Qt::AlignLeft, AlignRight or AlignHCenter within [x, x + width].
    void text(double x, double baseline, double width, const QString& words, const QFont& font,
              Ink ink = Ink::Text, Qt::Alignment alignment = Qt::AlignLeft);
    // Wrapped words from `top` down. Returns the height taken; draws nothing when `measureOnly`.
    double paragraph(double x, double top, double width, const QString& words, const QFont& font,
                     Ink ink = Ink::Text, bool measureOnly = false);
    double textWidth(const QString& words, const QFont& font) const;  // mm
    void line(double x1, double y1, double x2, double y2, double width, const QColor& colour,
              Qt::PenStyle style = Qt::SolidLine);
    void heading(const QString& words);
    // Small headings within a page.
    void subheading(const QString& words);
    // Wrapped words at the cursor over the whole width, on a new page when they do not fit.
    void words(const QString& words, double points = 8.0, Ink ink = Ink::Text);
    // Wrapped words each with a dash, or a number, before them.
    void list(const std::vector<std::string>& lines, bool numbered = false);

    struct Column {
        QString title;
        double width;
        bool right = false;
    };
    // At the cursor, from `x`; as many rows as given. Returns the height taken.
    double table(double x, double top, const std::vector<Column>& columns,
                 const std::vector<std::vector<QString>>& rows);
    static constexpr double kRow = 4.0;
    // At the cursor over the whole width, on as many pages as it takes.
    void flowTable(const std::vector<Column>& columns,
                   const std::vector<std::vector<QString>>& rows);
    // The same in two halves side by side.
    void flowHalves(const std::vector<Column>& columns,
                    const std::vector<std::vector<QString>>& rows);
    static constexpr double kHalfGap = 4.0;
    static constexpr double kHalf = 0.5 * (kContent - kHalfGap);

  private:
    void decorate();
    void markAcross();

    PageTarget& target_;
    const PlanSheet& sheet_;
    QPainter* painter_;
    QString family_;
    QString monoFamily_;
    int total_;
    int page_ = 1;
};

}  // namespace macle::app
