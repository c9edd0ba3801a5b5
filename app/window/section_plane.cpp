#include "app/window/section_plane.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>

#include "app/window/number_box.h"
#include "app/window/theme.h"

namespace macle::app {
namespace {

constexpr double kFarthest_mm = 1000.0;
constexpr int kNarrowest_px = 72;
// Below this height a triangle of picked points says nothing of a plane: scan noise is 0.01 mm.
constexpr double kLeastHeight_mm = 0.02;

}  // namespace

std::optional<OpenPlane> planeThrough(const std::vector<Eigen::Vector3d>& p) {
    if (p.size() != 3) return std::nullopt;
    const Eigen::Vector3d across = (p[1] - p[0]).cross(p[2] - p[0]);
    const double longest =
        std::max({(p[1] - p[0]).norm(), (p[2] - p[1]).norm(), (p[0] - p[2]).norm()});
    if (!(across.norm() > kLeastHeight_mm * longest)) return std::nullopt;
    OpenPlane plane;
    plane.normal = across.normalized();
    plane.offset_mm = plane.normal.dot((p[0] + p[1] + p[2]) / 3.0);
    return plane;
}

SectionPlane::SectionPlane(QWidget* parent) : QWidget(parent) {
    auto* row = new QHBoxLayout(this);
    row->setContentsMargins(8, 0, 8, 4);
    auto* label = new QLabel(tr("Normal"));
    row->addWidget(label);
    const auto box = [&](const char* name, const QString& spoken, double range, int decimals,
                         double step) {
        auto* made = new NumberBox;
        made->setObjectName(name);
        made->setAccessibleName(spoken);
        made->setDecimals(decimals);
        made->setRange(-range, range);
        made->setSingleStep(step);
        made->setMinimumWidth(kNarrowest_px);  // the row must not widen the window
        connect(made, &NumberBox::edited, this, [this] {
            tell();
            Q_EMIT changed();
        });
        row->addWidget(made);
        return made;
    };
    const char* names[] = {"sectionNormalX", "sectionNormalY", "sectionNormalZ"};
    for (int k = 0; k < 3; ++k)
        normal_[k] = box(names[k], tr("Normal of the section, %1").arg(QLatin1Char("xyz"[k])),
                         1000.0, 5, 0.05);
    label->setBuddy(normal_[0]);
    row->addWidget(new QLabel(tr("at")));
    offset_ = box("sectionOffset", tr("Distance of the section from the origin of the scan"),
                  kFarthest_mm, 3, 0.05);
    offset_->setSuffix(tr(" mm"));
    offset_->setMinimumWidth(kNarrowest_px + 28);  // for its unit
    offset_->setToolTip(tr("Distance of the plane from the origin of the scan, along the normal"));
    pick_ = new QPushButton(tr("&Pick three points"));
    pick_->setObjectName("sectionPick");
    pick_->setCheckable(true);
    pick_->setToolTip(tr("Alt + click three points of the stone on the stage"));
    connect(pick_, &QPushButton::toggled, this, [this](bool on) {
        points_.clear();
        tell();
        Q_EMIT hinted(on ? tr("Alt + click the first of three points of the section. Esc: leave "
                              "it.")
                         : QString());
    });
    row->addWidget(pick_);
    trouble_ = new QLabel;
    trouble_->setObjectName("sectionTrouble");
    trouble_->setSizePolicy(QSizePolicy::Ignored, QSizePolicy::Preferred);
    trouble_->setWordWrap(true);
    row->addWidget(trouble_, 1);
    normal_[2]->display(1.0);
}

std::optional<OpenPlane> SectionPlane::plane() const {
    const Eigen::Vector3d normal(normal_[0]->value(), normal_[1]->value(), normal_[2]->value());
    if (!(normal.norm() > 0.0)) return std::nullopt;
    return OpenPlane{normal.normalized(), offset_->value()};
}

void SectionPlane::setPlane(const OpenPlane& plane) {
    for (int k = 0; k < 3; ++k)
        normal_[k]->display(plane.normal[k]);
    offset_->display(plane.offset_mm);
    tell();
}

void SectionPlane::setOffset(double offset_mm) {
    offset_->display(offset_mm);
}

bool SectionPlane::picking() const {
    return pick_->isChecked();
}

void SectionPlane::stopPicking() {
    pick_->setChecked(false);
}

void SectionPlane::addPoint(const Eigen::Vector3d& place) {
    points_.push_back(place);
    if (points_.size() < 3) {
        Q_EMIT hinted(points_.size() == 1 ? tr("Alt + click the second point.")
                                          : tr("Alt + click the third point."));
        return;
    }
    const auto through = planeThrough(points_);
    pick_->setChecked(false);
    if (!through) {
        tell(tr("These three lie on one line; pick again."));
        return;
    }
    setPlane(*through);
    Q_EMIT changed();
}

void SectionPlane::tell(const QString& trouble) {
    trouble_->setText(trouble.isEmpty() && !plane() ? tr("A normal needs a length.") : trouble);
    colourText(trouble_, attentionColour());
}

}  // namespace macle::app
