// DifferenceTable: the figures of several layouts, one row each, with the difference of each to the
// layout chosen as base. The best of a row is bold and has a mark; what is missing says why.
// Planning estimates. Thread contract: GUI thread.
#pragma once

#include <QWidget>

#include "app/window/compared.h"

class QComboBox;
class QLabel;
class QTableWidget;

namespace macle::app {

struct ShownRow {
    ShownFigure figure;
    std::vector<ShownValue> values;  // one for each layout
    QString note;                    // how several stones make one figure; a tip of the title
};

class DifferenceTable : public QWidget {
    Q_OBJECT
  public:
    explicit DifferenceTable(QWidget* parent = nullptr);

    // Throws Error{BadUsage} when a row has not one value for each name. Keeps the base by its
    // place in the list.
    void display(const std::vector<QString>& names, const std::vector<ShownRow>& rows);
    void setBase(int layout);
    int base() const { return base_; }
    // In place of the rows; empty: none.
    void setBeingComputed(const QString& what);

  Q_SIGNALS:
    void baseChanged(int layout);

  protected:
    void changeEvent(QEvent* event) override;

  private:
    void fill();

    std::vector<QString> names_;
    std::vector<ShownRow> rows_;
    int base_ = 0;
    QComboBox* baseBox_ = nullptr;
    QLabel* busy_ = nullptr;
    QTableWidget* table_ = nullptr;
};

}  // namespace macle::app
