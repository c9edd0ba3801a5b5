// A number field for planners: a decimal point and a decimal comma are both understood whatever
// the desktop's language, the wheel changes nothing until the field has the focus, and the value
// is reported when it is complete (Enter, leaving the field, or a step), never half typed.
// Thread contract: GUI thread.
#pragma once

#include <QDoubleSpinBox>

namespace macle::app {

class NumberBox : public QDoubleSpinBox {
    Q_OBJECT
  public:
    explicit NumberBox(QWidget* parent = nullptr);

    // Shows a value without reporting a change.
    void display(double value);

    QValidator::State validate(QString& input, int& position) const override;

  Q_SIGNALS:
    void edited(double value);  // by the user only

  protected:
    void wheelEvent(QWheelEvent* event) override;
};

}  // namespace macle::app
