// SheetPages: A4 pages in millimetres with a cursor that moves down, and the head and foot every
// page of a plan sheet carries.
#pragma once

#include <QColor>
#include <QFont>
#include <QPainter>
#include <QPdfWriter>
#include <QString>
#include <vector>

#include "core/bench/plan_sheet.h"

namespace macle::app {

enum class Ink { Text, Quiet, Rule };

QColor inkColour(Ink ink);

class SheetPages {
  public:
    static constexpr double kWidth = 210.0, kHeight = 297.0;
    static constexpr double kLeft = 15.0, kRight = 195.0, kBottom = 279.0;
    static constexpr double kContent = kRight - kLeft;

    // `totalPages` goes into "page n of m"; 0 while counting.
    SheetPages(QPdfWriter& device, const PlanSheet& sheet, int totalPages);

    int page() const { return page_; }
    double y = 0.0;  // the cursor
    // Starts a page unless `height` more millimetres fit on this one.
    void need(double height);
    void newPage();

    QPainter& painter() { return painter_; }
    double px(double mm) const { return mm * perMm_; }
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

    struct Column {
        QString title;
        double width;
        bool right = false;
    };
    // At the cursor, from `x`; as many rows as given. Returns the height taken.
    double table(double x, double top, const std::vector<Column>& columns,
                 const std::vector<std::vector<QString>>& rows);
    static constexpr double kRow = 4.0;

  private:
    void decorate();

    QPdfWriter& device_;
    const PlanSheet& sheet_;
    QPainter painter_;
    QString family_;
    QString monoFamily_;
    int total_;
    int page_ = 1;
    double perMm_;
};

}  // namespace macle::app
