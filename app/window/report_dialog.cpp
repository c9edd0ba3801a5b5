#include "app/window/report_dialog.h"

#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QPushButton>
#include <QTableWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/number_box.h"
#include "app/window/theme.h"
#include "core/base/tolerance.h"
#include "core/stone/intake.h"

namespace macle::app {
namespace {

QTableWidget* findingsTable(const IntakeReport& report, const QLocale& locale) {
    auto* table = new QTableWidget(static_cast<int>(report.findings.size()), 4);
    table->setObjectName("findings");
    table->setAccessibleName(QObject::tr("What was found in the scan"));
    table->setHorizontalHeaderLabels({QObject::tr("Found"), QObject::tr("How many"),
                                      QObject::tr("What was done"), QObject::tr("First place")});
    table->verticalHeader()->hide();
    table->setEditTriggers(QAbstractItemView::NoEditTriggers);
    table->setSelectionBehavior(QAbstractItemView::SelectRows);
    table->setTabKeyNavigation(false);
    int row = 0;
    for (const Finding& finding : report.findings) {
        table->setItem(row, 0, new QTableWidgetItem(QString::fromStdString(finding.what)));
        auto* count = new QTableWidgetItem(locale.toString(static_cast<qlonglong>(finding.count)));
        count->setTextAlignment(Qt::AlignRight | Qt::AlignVCenter);
        table->setItem(row, 1, count);
        table->setItem(row, 2, new QTableWidgetItem(QString::fromStdString(finding.action)));
        QString place;
        if (!finding.places.empty()) {
            const Eigen::Vector3d& p = finding.places.front();
            place = QStringLiteral("%1  %2  %3 mm")
                        .arg(locale.toString(p.x(), 'f', 2), locale.toString(p.y(), 'f', 2),
                             locale.toString(p.z(), 'f', 2));
        }
        table->setItem(row, 3, new QTableWidgetItem(place));
        ++row;
    }
    table->resizeColumnsToContents();
    table->horizontalHeader()->setStretchLastSection(true);
    return table;
}

}  // namespace

ReportDialog::ReportDialog(std::shared_ptr<const Stone> stone, QWidget* parent)
    : SteadyDialog(parent), stone_(std::move(stone)) {
    setObjectName("reportDialog");
    setWindowTitle(tr("Stone report"));
    resize(620, stone_->rough.report.findings.empty() ? 350 : 500);
    const QLocale& l = locale();
    auto* column = new QVBoxLayout(this);
    auto* form = new QFormLayout;
    name_ = new QLineEdit(QString::fromStdString(stone_->name));
    name_->setObjectName("stoneName");
    form->addRow(tr("&Name"), name_);
    form->addRow(tr("Material"),
                 new QLabel(tr("%1, %2 g/cm³")
                                .arg(QString::fromStdString(stone_->material.name),
                                     l.toString(stone_->material.density_g_cm3, 'g', 6))));
    const Box box = bounds(stone_->rough.mesh);
    form->addRow(tr("Extent"), new QLabel(tr("%1 × %2 × %3 mm")
                                              .arg(l.toString(box.extent().x(), 'f', 2),
                                                   l.toString(box.extent().y(), 'f', 2),
                                                   l.toString(box.extent().z(), 'f', 2))));
    form->addRow(tr("Volume"),
                 new QLabel(tr("%1 mm³").arg(l.toString(stone_->rough.volume_mm3, 'f', 3))));
    auto* scan = new QLabel(tr("%1 ct").arg(l.toString(scanWeight_ct(*stone_), 'f', 3)));
    scan->setObjectName("scanWeight");
    form->addRow(tr("Weight by the scan"), scan);
    scale_ = new NumberBox;
    scale_->setObjectName("scaleWeight");
    scale_->setDecimals(3);
    scale_->setRange(0.0, 100000.0);
    scale_->setSuffix(tr(" ct"));
    scale_->setSpecialValueText(tr("not weighed"));
    scale_->setToolTip(
        tr("Weight of the rough on the scale, in carats. 0 means it was not weighed."));
    scale_->display(stone_->scale_ct.value_or(0.0));
    connect(scale_, &NumberBox::edited, this, &ReportDialog::compare);
    form->addRow(tr("Weight on the &scale"), scale_);
    verdict_ = new QLabel;
    verdict_->setObjectName("weighInVerdict");
    verdict_->setWordWrap(true);
    form->addRow(QString(), verdict_);
    trusted_ = new QComboBox;
    trusted_->setObjectName("trusted");
    trusted_->addItem(tr("the scan"), static_cast<int>(TrustedWeight::Scan));
    trusted_->addItem(tr("the scale"), static_cast<int>(TrustedWeight::Scale));
    trusted_->setCurrentIndex(stone_->trusted == TrustedWeight::Scale ? 1 : 0);
    trusted_->setToolTip(
        tr("What figures in carats start from. With the scale every weight is multiplied by scale "
           "over scan; lengths stay those of the scan."));
    form->addRow(tr("&Trusted weight"), trusted_);
    column->addLayout(form);
    const IntakeReport& report = stone_->rough.report;
    auto* scanText = new QLabel(tr("The scan held %1 triangles; %2 were kept. The surface is %3.")
                                    .arg(l.toString(static_cast<qlonglong>(report.trianglesRead)),
                                         l.toString(static_cast<qlonglong>(report.trianglesKept)),
                                         report.closed ? tr("closed") : tr("not closed")));
    scanText->setWordWrap(true);
    column->addSpacing(6);
    column->addWidget(scanText);
    if (report.findings.empty()) column->addWidget(new QLabel(tr("Nothing had to be repaired.")));
    auto* findings = findingsTable(report, l);
    column->addWidget(findings, 1);
    const bool anyPlace = std::any_of(report.findings.begin(), report.findings.end(),
                                      [](const Finding& f) { return !f.places.empty(); });
    if (anyPlace)
        column->addWidget(new QLabel(tr("Choose a line to see its places on the stage.")));
    connect(findings, &QTableWidget::itemSelectionChanged, this, [this, findings] {
        const int row = findings->currentRow();
        if (row >= 0)
            Q_EMIT placesChosen(
                stone_->rough.report.findings[static_cast<std::size_t>(row)].places);
    });
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Ok | QDialogButtonBox::Cancel);
    buttons->button(QDialogButtonBox::Ok)->setObjectName("reportOk");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);
    compare();
}

std::string ReportDialog::name() const {
    return name_->text().trimmed().toStdString();
}

std::optional<double> ReportDialog::scale_ct() const {
    if (scale_->value() <= 0.0) return std::nullopt;
    return scale_->value();
}

TrustedWeight ReportDialog::trusted() const {
    return static_cast<TrustedWeight>(trusted_->currentData().toInt());
}

void ReportDialog::compare() {
    if (!scale_ct()) {
        verdict_->setText(tr("Weigh the rough to check the scan against the scale."));
        colourText(verdict_, quietText());
        return;
    }
    const WeighIn weighed =
        weighIn(stone_->rough.volume_mm3, stone_->material.density_g_cm3, *scale_ct());
    const QString difference = locale().toString(std::abs(weighed.difference_percent), 'f', 2);
    const QString which = weighed.difference_percent >= 0.0 ? tr("heavier") : tr("lighter");
    if (weighed.flagged) {
        verdict_->setText(
            tr("The scan is %1 % %2 than the scale: more than %3 % apart. Check the "
               "scan, its unit and the material before you trust any figure.")
                .arg(difference, which, locale().toString(tolerance::kScaleMismatch * 100.0)));
    } else {
        verdict_->setText(tr("The scan is %1 % %2 than the scale.").arg(difference, which));
    }
    colourText(verdict_, weighed.flagged ? attentionColour() : plainText());
}

}  // namespace macle::app
