#include "app/window/number_box.h"

#include <QFormLayout>
#include <QLabel>
#include <QSignalBlocker>
#include <QWheelEvent>

namespace macle::app {

NumberBox::NumberBox(QWidget* parent) : QDoubleSpinBox(parent) {
    QLocale plain = locale();
    // Without group separators "4.5" and "4,5" can only mean one number.
    plain.setNumberOptions(QLocale::OmitGroupSeparator | QLocale::RejectGroupSeparator);
    setLocale(plain);
    setKeyboardTracking(false);
    setFocusPolicy(Qt::StrongFocus);
    setAlignment(Qt::AlignRight);
    setAccelerated(true);
    connect(this, &QDoubleSpinBox::valueChanged, this, &NumberBox::edited);
}

void NumberBox::display(double value) {
    const QSignalBlocker quiet(this);
    setValue(value);
}

QValidator::State NumberBox::validate(QString& input, int& position) const {
    const QString point = locale().decimalPoint();
    const QString unit = suffix();
    QString number = input;
    if (!unit.isEmpty() && number.endsWith(unit)) number.chop(unit.size());
    const qsizetype unitLength = input.size() - number.size();
    number.replace(QLatin1Char('.'), point);
    number.replace(QLatin1Char(','), point);
    input = number + input.right(unitLength);
    return QDoubleSpinBox::validate(input, position);
}

void NumberBox::wheelEvent(QWheelEvent* event) {
    if (hasFocus())
        QDoubleSpinBox::wheelEvent(event);
    else
        event->ignore();
}

NumberBox* addNumberField(QFormLayout* form, const QString& label, const char* name,
                          const QString& unit, double low, double high, int decimals, double step,
                          const QString& tip, int captionWidth) {
    auto* box = new NumberBox;
    box->setObjectName(name);
    box->setAccessibleName(label);
    box->setSuffix(unit);
    box->setDecimals(decimals);
    box->setRange(low, high);
    box->setSingleStep(step);
    box->setToolTip(tip);
    auto* caption = new QLabel(label);
    caption->setToolTip(tip);
    caption->setBuddy(box);
    caption->setMinimumWidth(captionWidth);
    form->addRow(caption, box);
    return box;
}

}  // namespace macle::app
