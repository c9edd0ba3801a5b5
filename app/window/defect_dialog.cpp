#include "app/window/defect_dialog.h"

#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QPushButton>
#include <QVBoxLayout>
#include <cmath>

#include "app/window/number_box.h"
#include "core/base/error.h"
#include "core/base/units.h"

namespace macle::app {
namespace {

constexpr double kFarthest_mm = 200.0;
constexpr double kSmallest_mm = 0.001;
constexpr int kEllipsoid = 0;

// Turns about x, then y, then z of the stone frame, in degrees.
Eigen::Quaterniond rotationOf(const Eigen::Vector3d& turn_deg) {
    return Eigen::AngleAxisd(radians(turn_deg.z()), Eigen::Vector3d::UnitZ()) *
           Eigen::AngleAxisd(radians(turn_deg.y()), Eigen::Vector3d::UnitY()) *
           Eigen::AngleAxisd(radians(turn_deg.x()), Eigen::Vector3d::UnitX());
}

Eigen::Vector3d turnOf(const Eigen::Quaterniond& rotation) {
    const Eigen::Vector3d zyx = rotation.toRotationMatrix().eulerAngles(2, 1, 0);
    return {degrees(zyx.z()), degrees(zyx.y()), degrees(zyx.x())};
}

}  // namespace

Sheet sheetOf(const SheetFrame& frame) {
    Sheet sheet;
    for (const auto& [a, b] : {std::pair{-1, -1}, {1, -1}, {1, 1}, {-1, 1}})
        sheet.corners_mm.push_back(
            frame.middle_mm +
            frame.rotation * Eigen::Vector3d(a * frame.halfAlong_mm, b * frame.halfAcross_mm, 0.0));
    return sheet;
}

bool frameOf(const Sheet& sheet, SheetFrame& frame) {
    if (sheet.corners_mm.size() != 4) return false;
    const auto& c = sheet.corners_mm;
    const Eigen::Vector3d along = c[1] - c[0], across = c[3] - c[0];
    const double slack = tolerance::kSheetPlanar_mm;
    if ((c[0] + c[2] - c[1] - c[3]).norm() > slack ||
        std::abs(along.normalized().dot(across)) > slack)
        return false;
    frame.middle_mm = 0.25 * (c[0] + c[1] + c[2] + c[3]);
    frame.halfAlong_mm = 0.5 * along.norm();
    frame.halfAcross_mm = 0.5 * across.norm();
    Eigen::Matrix3d axes;
    axes.col(0) = along.normalized();
    axes.col(2) = along.cross(across).normalized();
    axes.col(1) = axes.col(2).cross(axes.col(0));
    frame.rotation = Eigen::Quaterniond(axes).normalized();
    return true;
}

DefectDialog::DefectDialog(const Defect& start, const QString& title, QWidget* parent)
    : SteadyDialog(parent) {
    SheetFrame frame;
    Ellipsoid ellipsoid;
    ellipsoid.halfAxes_mm = {0.2, 0.2, 0.2};
    const bool isSheet = std::holds_alternative<Sheet>(start.shape);
    if (const auto* e = std::get_if<Ellipsoid>(&start.shape)) ellipsoid = *e;
    if (std::holds_alternative<TriangleMesh>(start.shape) ||
        (isSheet && !frameOf(std::get<Sheet>(start.shape), frame)))
        throw Error(ErrorCode::BadUsage,
                    "The shape of '" + start.name + "' was scanned and is not changed by hand.",
                    "Add a defect beside it, or change its policy in the list.");
    setObjectName("defectDialog");
    setWindowTitle(title);
    auto* column = new QVBoxLayout(this);
    head_ = new QLabel(
        tr("With a section open, Alt + click on the stage sets the place on its plane."));
    head_->setWordWrap(true);
    column->addWidget(head_);
    auto* form = new QFormLayout;
    form_ = form;
    name_ = new QLineEdit(QString::fromStdString(start.name));
    name_->setObjectName("defectName");
    form->addRow(tr("&Name"), name_);
    shape_ = new QComboBox;
    shape_->setObjectName("defectShape");
    shape_->addItems({tr("Ellipsoid"), tr("Sheet (thin crack)")});
    shape_->setCurrentIndex(isSheet ? 1 : kEllipsoid);
    form->addRow(tr("&Shape"), shape_);
    const auto three = [&](const QString& label, const char* name, NumberBox** boxes,
                           const Eigen::Vector3d& values, double low, double high, int decimals,
                           double step, const QString& unit) {
        auto* row = new QHBoxLayout;
        for (int k = 0; k < 3; ++k) {
            auto* box = new NumberBox;
            box->setObjectName(QStringLiteral("%1_%2").arg(QLatin1String(name)).arg("xyz"[k]));
            box->setAccessibleName(QStringLiteral("%1 %2").arg(label).arg("xyz"[k]).remove('&'));
            box->setDecimals(decimals);
            box->setRange(low, high);
            box->setSingleStep(step);
            box->setSuffix(unit);
            box->display(values[k]);
            connect(box, &NumberBox::edited, this, &DefectDialog::tell);
            row->addWidget(box);
            boxes[k] = box;
        }
        form->addRow(label, row);
        static_cast<QLabel*>(form->labelForField(row))->setBuddy(boxes[0]);
    };
    three(tr("&Place x, y, z"), "place", place_, isSheet ? frame.middle_mm : ellipsoid.centre_mm,
          -kFarthest_mm, kFarthest_mm, 3, 0.05, tr(" mm"));
    const Eigen::Vector3d half = isSheet ? Eigen::Vector3d(frame.halfAlong_mm, frame.halfAcross_mm,
                                                           ellipsoid.halfAxes_mm.z())
                                         : ellipsoid.halfAxes_mm;
    three(tr("Si&ze"), "size", size_, 2.0 * half, kSmallest_mm, kFarthest_mm, 3, 0.05, tr(" mm"));
    three(tr("&Turn about x, y, z"), "turn", turn_,
          turnOf(isSheet ? frame.rotation : ellipsoid.rotation), -360.0, 360.0, 1, 5.0, tr("°"));
    kind_ = new QComboBox;
    kind_->setObjectName("defectKind");
    for (const DefectKind kind :
         {DefectKind::Crystal, DefectKind::Feather, DefectKind::Cloud, DefectKind::Pinpoint,
          DefectKind::Crack, DefectKind::GrainLine, DefectKind::Other}) {
        kind_->addItem(kindName(kind), static_cast<int>(kind));
        if (kind == start.kind) kind_->setCurrentIndex(kind_->count() - 1);
    }
    form->addRow(tr("&Kind"), kind_);
    severity_ = new NumberBox;
    severity_->setObjectName("defectSeverity");
    severity_->setDecimals(0);
    severity_->setRange(1, 5);
    severity_->setToolTip(tr("1 slight to 5 severe"));
    severity_->display(start.severity);
    form->addRow(tr("Se&verity"), severity_);
    policy_ = new QComboBox;
    policy_->setObjectName("defectPolicy");
    for (const DefectPolicy policy :
         {DefectPolicy::MustBeCutAway, DefectPolicy::MayStay, DefectPolicy::MayStayAtEdge}) {
        policy_->addItem(policyName(policy), static_cast<int>(policy));
        if (policy == start.policy) policy_->setCurrentIndex(policy_->count() - 1);
    }
    form->addRow(tr("P&olicy"), policy_);
    margin_ = new NumberBox;
    margin_->setObjectName("defectMargin");
    margin_->setAccessibleName(tr("Margin around the defect"));
    margin_->setDecimals(3);
    margin_->setRange(0.0, kLargestMargin_mm);
    margin_->setSingleStep(0.01);
    margin_->setSuffix(tr(" mm"));
    margin_->setToolTip(
        tr("Kept between the defect and every facet beside the polishing allowance: for doubt "
           "about where it lies, or damage around it. 0 to %1 mm")
            .arg(locale().toString(kLargestMargin_mm)));
    margin_->display(start.margin_mm);
    form->addRow(tr("&Margin"), margin_);
    volume_ = new QLabel;
    volume_->setObjectName("defectVolume");
    form->addRow(tr("Volume"), volume_);
    column->addLayout(form);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Ok | QDialogButtonBox::Cancel);
    buttons->button(QDialogButtonBox::Ok)->setObjectName("defectOk");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);
    for (NumberBox* box : {severity_, margin_})
        connect(box, &NumberBox::edited, this, &DefectDialog::tell);
    for (QComboBox* box : {shape_, kind_, policy_})
        connect(box, &QComboBox::activated, this, &DefectDialog::tell);
    tell();
}

void DefectDialog::showAsZone(const QString& hue) {
    head_->hide();
    for (QWidget* field : {static_cast<QWidget*>(shape_), static_cast<QWidget*>(kind_),
                           static_cast<QWidget*>(policy_), static_cast<QWidget*>(margin_)})
        form_->setRowVisible(field, false);
    hue_ = new QLineEdit(hue);
    hue_->setObjectName("zoneHue");
    form_->insertRow(1, tr("&Hue"), hue_);
    static_cast<QLabel*>(form_->labelForField(severity_))->setText(tr("St&rength"));
    severity_->setToolTip(tr("1 faint to 5 deep"));
}

QString DefectDialog::hue() const {
    return hue_ != nullptr ? hue_->text().trimmed() : QString();
}

Defect DefectDialog::defect() const {
    const auto vector = [](NumberBox* const* boxes) {
        return Eigen::Vector3d(boxes[0]->value(), boxes[1]->value(), boxes[2]->value());
    };
    Defect defect;
    defect.name = name_->text().trimmed().toStdString();
    if (defect.name.empty()) defect.name = tr("defect").toStdString();
    const Eigen::Quaterniond rotation = rotationOf(vector(turn_)).normalized();
    const Eigen::Vector3d half = 0.5 * vector(size_);
    if (shape_->currentIndex() == kEllipsoid)
        defect.shape = Ellipsoid{vector(place_), half, rotation};
    else
        defect.shape = sheetOf({vector(place_), half.x(), half.y(), rotation});
    defect.kind = static_cast<DefectKind>(kind_->currentData().toInt());
    defect.severity = static_cast<int>(severity_->value());
    defect.policy = static_cast<DefectPolicy>(policy_->currentData().toInt());
    defect.margin_mm = margin_->value();
    return defect;
}

void DefectDialog::moveTo(const Eigen::Vector3d& place_mm) {
    for (int k = 0; k < 3; ++k)
        place_[k]->display(place_mm[k]);
    tell();
}

void DefectDialog::tell() {
    const bool sheet = shape_->currentIndex() != kEllipsoid;
    size_[2]->setEnabled(!sheet);
    const Defect now = defect();
    volume_->setText(sheet ? tr("none (a sheet)")
                           : tr("%1 mm³").arg(locale().toString(defectVolume_mm3(now), 'f', 4)));
    Q_EMIT changed(now);
}

}  // namespace macle::app
