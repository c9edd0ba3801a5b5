// FreeDialog: which proportions the search may choose, and within which ranges.
// Thread contract: GUI thread.
#pragma once

#include <QDialog>
#include <vector>

#include "core/cut/library.h"
#include "core/fit/free_fit.h"

class QCheckBox;
class QLabel;
class QPushButton;

namespace macle::app {

class NumberBox;

class FreeDialog : public QDialog {
    Q_OBJECT
  public:
    // Ranges stand as last time, or around the present values.
    FreeDialog(const CutInfo& cut, const std::map<std::string, double>& proportions,
               const std::vector<FreeProportion>& lastTime, QWidget* parent = nullptr);

    std::vector<FreeProportion> chosen() const;

  private:
    void check();

    struct Row {
        ProportionInfo info;
        QCheckBox* free;
        NumberBox* low;
        NumberBox* high;
    };
    std::vector<Row> rows_;
    QLabel* trouble_ = nullptr;
    QPushButton* search_ = nullptr;
};

}  // namespace macle::app
