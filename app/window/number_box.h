// A number field for planners: a decimal point and a decimal comma are both understood whatever
// the desktop's language, the wheel changes nothing until the field has the focus, and the value
// is reported when it is complete (Enter, leaving the field, or a step), never half typed.
// Thread contract: GUI thread.
#pragma once

#include <QDoubleSpinBox>

class QFormLayout;

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

// A number field with its caption, as one row of a form. `captionWidth`: at least so wide.
NumberBox* addNumberField(QFormLayout* form, const QString& label, const char* name,
                          const QString& unit, double low, double high, int decimals, double step,
                          const QString& tip, int captionWidth = 0);

}  // namespace macle::app
