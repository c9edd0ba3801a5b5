// SheetDialog: the plan sheet as it will be printed, page by page, and the files that are written
// from it. The pages are drawn by the same code as the PDF.
// Thread contract: GUI thread.
#pragma once

#include <memory>

#include "app/window/steady_dialog.h"
#include "core/bench/plan_sheet.h"

class QLabel;
class QScrollArea;
class QSlider;
class QSpinBox;

namespace macle::app {

class SheetDialog : public SteadyDialog {
    Q_OBJECT
  public:
    SheetDialog(std::shared_ptr<const PlanSheet> sheet, QWidget* parent);

    int pages() const { return pages_; }
    void showPage(int number);  // from 1
    const PlanSheet& sheet() const { return *sheet_; }

  Q_SIGNALS:
    void writeAsked(const QString& ending);  // "pdf", "csv", "json"
    void marksAsked(const QString& ending);  // "dxf", "svg"

  protected:
    void resizeEvent(QResizeEvent* event) override;

  private:
    void draw();

    std::shared_ptr<const PlanSheet> sheet_;
    int pages_ = 0;
    QSpinBox* page_ = nullptr;
    QSlider* zoom_ = nullptr;
    QLabel* paper_ = nullptr;
    QScrollArea* scroll_ = nullptr;
};

}  // namespace macle::app
