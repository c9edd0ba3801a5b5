#include "app/window/axes_dialog.h"

#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QTableWidget>
#include <QVBoxLayout>
#include <cmath>

#include "app/window/number_box.h"
#include "app/window/theme.h"
#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr std::size_t kMostFaces = 3;

}  // namespace

AxesDialog::AxesDialog(const std::optional<CrystalAxes>& now, const Eigen::Vector3d& tableNormal,
                       QWidget* parent)
    : SteadyDialog(parent), tableNormal_(tableNormal), axes_(now) {
    setObjectName("axesDialog");
    setWindowTitle(tr("Crystal axes"));
    resize(470, 480);
    if (now) faces_ = now->faces;
    spread_deg_.assign(faces_.size(), 0.0);
    auto* column = new QVBoxLayout(this);
    auto* head = new QLabel(
        tr("Alt + click two or three natural faces of the rough on the stage, or type the "
           "directions of two axes."));
    head->setWordWrap(true);
    column->addWidget(head);
    auto* row = new QHBoxLayout;
    row->addWidget(new QLabel(tr("The next face belongs to the")));
    form_ = new QComboBox;
    form_->setObjectName("faceForm");
    for (const FaceForm form : {FaceForm::Octahedron, FaceForm::Cube, FaceForm::Dodecahedron})
        form_->addItem(formName(form), static_cast<int>(form));
    row->addWidget(form_);
    row->addStretch(1);
    auto* clear = new QPushButton(tr("C&lear faces"));
    clear->setObjectName("clearFaces");
    connect(clear, &QPushButton::clicked, this, [this] {
        faces_.clear();
        spread_deg_.clear();
        axes_.reset();
        fill();
    });
    row->addWidget(clear);
    column->addLayout(row);
    table_ = new QTableWidget(0, 3);
    table_->setObjectName("faces");
    table_->setAccessibleName(tr("Natural faces"));
    table_->setHorizontalHeaderLabels({tr("Face"), tr("Direction"), tr("Unevenness")});
    table_->verticalHeader()->hide();
    table_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    table_->setTabKeyNavigation(false);
    table_->horizontalHeader()->setStretchLastSection(true);
    column->addWidget(table_, 1);
    verdict_ = new QLabel;
    verdict_->setObjectName("axesVerdict");
    verdict_->setWordWrap(true);
    verdict_->setMinimumHeight(3 * fontMetrics().lineSpacing());
    verdict_->setAlignment(Qt::AlignLeft | Qt::AlignTop);
    column->addWidget(verdict_);
    auto* typed = new QFormLayout;
    const char* const names[] = {"axisZ_x", "axisZ_y", "axisZ_z", "axisX_x", "axisX_y", "axisX_z"};
    for (int axis = 0; axis < 2; ++axis) {
        auto* line = new QHBoxLayout;
        for (int k = 0; k < 3; ++k) {
            auto* box = new NumberBox;
            box->setObjectName(QLatin1String(names[3 * axis + k]));
            box->setDecimals(4);
            box->setRange(-1000.0, 1000.0);
            box->setSingleStep(0.1);
            const Eigen::Vector3d along =
                (now ? now->rotation : Eigen::Quaterniond::Identity()) *
                (axis == 0 ? Eigen::Vector3d::UnitZ() : Eigen::Vector3d::UnitX());
            box->display(along[k]);
            connect(box, &NumberBox::edited, this, &AxesDialog::takeTyped);
            line->addWidget(box);
            typed_[3 * axis + k] = box;
        }
        typed->addRow(axis == 0 ? tr("Direction of [0 0 1]") : tr("Direction of [1 0 0]"), line);
    }
    column->addLayout(typed);
    lies_ = new QLabel;
    lies_->setObjectName("tableLies");
    lies_->setWordWrap(true);
    column->addWidget(lies_);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Ok | QDialogButtonBox::Cancel);
    ok_ = buttons->button(QDialogButtonBox::Ok);
    ok_->setObjectName("axesOk");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);
    fill();
}

void AxesDialog::addFace(const FaceAt& face) {
    if (faces_.size() == kMostFaces) return;
    faces_.push_back({static_cast<FaceForm>(form_->currentData().toInt()), face.normal});
    spread_deg_.push_back(face.spread_deg);
    fill();
}

void AxesDialog::fill() {
    table_->setRowCount(static_cast<int>(faces_.size()));
    for (int i = 0; i < static_cast<int>(faces_.size()); ++i) {
        const NaturalFace& face = faces_[static_cast<std::size_t>(i)];
        table_->setItem(i, 0,
                        new QTableWidgetItem(tr("%1 (%2)").arg(i + 1).arg(formName(face.form))));
        table_->setItem(i, 1,
                        new QTableWidgetItem(QStringLiteral("%1  %2  %3")
                                                 .arg(locale().toString(face.normal.x(), 'f', 3),
                                                      locale().toString(face.normal.y(), 'f', 3),
                                                      locale().toString(face.normal.z(), 'f', 3))));
        table_->setItem(i, 2,
                        new QTableWidgetItem(tr("%1°").arg(
                            locale().toString(spread_deg_[static_cast<std::size_t>(i)], 'f', 1))));
    }
    table_->resizeColumnsToContents();
    QString text;
    bool flagged = false;
    if (faces_.size() < 2) {
        text = axes_ && faces_.empty()
                   ? tr("As typed.")
                   : tr("%n more face(s) needed.", nullptr, 2 - static_cast<int>(faces_.size()));
    } else {
        try {
            const AxesFromFaces found = axesFromFaces(faces_);
            axes_ = found.axes;
            for (const FacePair& pair : found.pairs)
                text += tr("Faces %1 and %2: %3°, ideal %4°, misfit %5°\n")
                            .arg(pair.first + 1)
                            .arg(pair.second + 1)
                            .arg(locale().toString(pair.measured_deg, 'f', 2),
                                 locale().toString(pair.ideal_deg, 'f', 2),
                                 locale().toString(pair.misfit_deg, 'f', 2));
            flagged = found.flagged;
            if (found.flagged)
                text += tr("More than %1° off: these are not the faces they are called.")
                            .arg(locale().toString(tolerance::kFaceMisfit_deg));
            else if (found.ambiguous)
                text += tr("These two leave it open which side is which: pick a third face.");
            for (int k = 0; k < 3; ++k) {
                typed_[k]->display((axes_->rotation * Eigen::Vector3d::UnitZ())[k]);
                typed_[3 + k]->display((axes_->rotation * Eigen::Vector3d::UnitX())[k]);
            }
        } catch (const Error& error) {
            text = QString::fromStdString(error.message() + " " + error.remedy());
            axes_.reset();
            flagged = true;
        }
    }
    verdict_->setText(text.trimmed());
    colourText(verdict_, flagged ? attentionColour() : plainText());
    refresh();
}

void AxesDialog::takeTyped() {
    faces_.clear();
    spread_deg_.clear();
    const auto direction = [this](int first) {
        return Eigen::Vector3d(typed_[first]->value(), typed_[first + 1]->value(),
                               typed_[first + 2]->value());
    };
    try {
        axes_ = axesFromDirections(direction(0), direction(3));
        fill();
    } catch (const Error& error) {
        axes_.reset();
        fill();
        verdict_->setText(QString::fromStdString(error.message() + " " + error.remedy()));
        colourText(verdict_, attentionColour());
    }
}

void AxesDialog::refresh() {
    ok_->setEnabled(axes_.has_value());
    if (!axes_) {
        lies_->clear();
        return;
    }
    const TableInCrystal table = tableInCrystal(*axes_, tableNormal_);
    lies_->setText(tr("The table of this cut lies %1° off %2 (cube %3°, octahedron %4°, "
                      "dodecahedron %5°).")
                       .arg(locale().toString(table.off_deg, 'f', 1), pointName(table.nearest),
                            locale().toString(table.toCube_deg, 'f', 1),
                            locale().toString(table.toOctahedron_deg, 'f', 1),
                            locale().toString(table.toDodecahedron_deg, 'f', 1)));
}

}  // namespace macle::app
