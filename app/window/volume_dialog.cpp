#include "app/window/volume_dialog.h"

#include <QComboBox>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QHBoxLayout>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QVBoxLayout>

#include "app/window/grey_curve.h"
#include "app/window/number_box.h"
#include "app/window/theme.h"

namespace macle::app {
namespace {

constexpr int kSoon_ms = 250;  // after a change of the range
constexpr int kSteps = 256;    // of the curve
constexpr int kNamed = 5;      // defects told one by one

}  // namespace

VolumeDialog::VolumeDialog(std::shared_ptr<const Volume> volume, std::shared_ptr<const Stone> stone,
                           QWidget* parent)
    : SteadyDialog(parent), volume_(std::move(volume)), stone_(std::move(stone)) {
    setObjectName("volumeDialog");
    setWindowTitle(tr("Defects from a volume"));
    resize(480, 480);
    const Histogram histogram = histogramOf(*volume_, kSteps);
    auto* column = new QVBoxLayout(this);
    auto* head = new QLabel(
        tr("%1 × %2 × %3 voxels. Choose the grey values that belong to defects; what they find is "
           "shown on the stage.")
            .arg(volume_->size[0])
            .arg(volume_->size[1])
            .arg(volume_->size[2]));
    head->setWordWrap(true);
    column->addWidget(head);
    curve_ = new GreyCurve(histogram);
    column->addWidget(curve_);
    auto* form = new QFormLayout;
    const double span = static_cast<double>(histogram.high) - histogram.low;
    const auto grey = [&](const char* name, double value) {
        auto* box = new NumberBox;
        box->setObjectName(name);
        box->setDecimals(span > 100.0 ? 0 : 3);
        box->setRange(histogram.low, histogram.high);
        box->setSingleStep(span / 200.0);
        box->display(value);
        return box;
    };
    // The upper half to begin with: inclusions are denser than diamond more often than not.
    low_ = grey("greyLow", histogram.low + 0.5 * span);
    high_ = grey("greyHigh", histogram.high);
    auto* range = new QHBoxLayout;
    range->addWidget(low_);
    range->addWidget(new QLabel(tr("to")));
    range->addWidget(high_);
    range->addStretch(1);
    form->addRow(tr("&Grey values"), range);
    static_cast<QLabel*>(form->labelForField(range))->setBuddy(low_);
    smallest_ = new NumberBox;
    smallest_->setObjectName("smallest");
    smallest_->setDecimals(5);
    smallest_->setRange(0.0, 1000.0);
    smallest_->setSingleStep(0.0005);
    smallest_->setSuffix(tr(" mm³"));
    smallest_->setToolTip(tr("Smaller parts count as noise; how many there are is told below."));
    smallest_->display(kSmallestPart_mm3);
    form->addRow(tr("&Smallest"), smallest_);
    kind_ = new QComboBox;
    kind_->setObjectName("kind");
    for (const DefectKind kind :
         {DefectKind::Crystal, DefectKind::Feather, DefectKind::Cloud, DefectKind::Pinpoint,
          DefectKind::Crack, DefectKind::GrainLine, DefectKind::Other})
        kind_->addItem(kindName(kind), static_cast<int>(kind));
    form->addRow(tr("&Kind"), kind_);
    severity_ = new NumberBox;
    severity_->setObjectName("severity");
    severity_->setDecimals(0);
    severity_->setRange(1, 5);
    severity_->display(3);
    severity_->setToolTip(tr("1 slight to 5 severe"));
    form->addRow(tr("Se&verity"), severity_);
    column->addLayout(form);
    result_ = new QLabel;
    result_->setObjectName("volumeResult");
    result_->setWordWrap(true);
    result_->setAlignment(Qt::AlignLeft | Qt::AlignTop);
    result_->setMinimumHeight(8 * fontMetrics().lineSpacing());
    column->addWidget(result_, 1);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Cancel);
    add_ = buttons->addButton(tr("&Add to the stone"), QDialogButtonBox::AcceptRole);
    add_->setObjectName("volumeAdd");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);

    timer_.setSingleShot(true);
    timer_.setInterval(kSoon_ms);
    connect(&timer_, &QTimer::timeout, this, &VolumeDialog::search);
    connect(curve_, &GreyCurve::rangeMoved, this, [this](double low, double high) {
        low_->display(low);
        high_->display(high);
        soon();
    });
    for (NumberBox* box : {low_, high_})
        connect(box, &NumberBox::edited, this, [this] {
            curve_->setRange(low_->value(), std::max(low_->value(), high_->value()));
            soon();
        });
    for (NumberBox* box : {smallest_, severity_})
        connect(box, &NumberBox::edited, this, &VolumeDialog::soon);
    connect(kind_, &QComboBox::activated, this, &VolumeDialog::soon);
    curve_->setRange(low_->value(), high_->value());
    soon();
}

VolumeDialog::~VolumeDialog() {
    delete job_.data();
}

void VolumeDialog::soon() {
    add_->setEnabled(false);
    timer_.start();
}

void VolumeDialog::search() {
    // The latest range counts; an older search ends when it next looks.
    if (job_) {
        job_->cancel();
        timer_.start();
        return;
    }
    VolumeDefectOptions options;
    options.range = {low_->value(), std::max(low_->value(), high_->value())};
    options.smallest_mm3 = smallest_->value();
    options.kind = static_cast<DefectKind>(kind_->currentData().toInt());
    options.severity = static_cast<int>(severity_->value());
    result_->setText(tr("Searching…"));
    job_ = new Job(
        tr("Searching"),
        [this, volume = volume_, stone = stone_, options](Progress& progress) -> Job::HandOver {
            VolumeDefectOptions inside = options;
            inside.within = &stone->rough.mesh;
            auto found = std::make_shared<const VolumeDefects>(
                defectsFromVolume(*volume, inside, &progress));
            return [this, found] { show(found); };
        },
        this);
    const auto end = [this] {
        if (job_) job_->deleteLater();
        job_.clear();
    };
    connect(job_, &Job::finished, this, end);
    connect(job_, &Job::failed, this, [this, end](const Error& error) {
        result_->setText(QString::fromStdString(error.message() + " " + error.remedy()));
        end();
    });
    job_->start();
}

void VolumeDialog::show(const std::shared_ptr<const VolumeDefects>& found) {
    found_ = found;
    const QLocale& l = locale();
    QString text = found->defects.empty()
                       ? tr("These grey values find no defect inside the rough.")
                       : tr("%n defect(s):", nullptr, static_cast<int>(found->defects.size()));
    for (std::size_t i = 0; i < found->defects.size() && i < kNamed; ++i) {
        const Eigen::Vector3d extent = defectBounds(found->defects[i]).extent();
        text += tr("\n%1 mm³,  %2 × %3 × %4 mm")
                    .arg(l.toString(found->volumes_mm3[i], 'f', 4), l.toString(extent.x(), 'f', 2),
                         l.toString(extent.y(), 'f', 2), l.toString(extent.z(), 'f', 2));
    }
    if (found->defects.size() > kNamed) text += tr("\n…");
    QStringList left;
    if (found->tooSmall > 0)
        left += tr("%1 smaller (%2 mm³ together)")
                    .arg(found->tooSmall)
                    .arg(l.toString(found->tooSmall_mm3, 'g', 3));
    if (found->outside > 0) left += tr("%1 outside the rough").arg(found->outside);
    if (found->atBorder > 0) left += tr("%1 at the end of the volume").arg(found->atBorder);
    if (!left.isEmpty()) text += tr("\nLeft out: %1.").arg(left.join(", "));
    result_->setText(text);
    add_->setEnabled(!found->defects.empty());
    Q_EMIT previewed(found->defects);
}

}  // namespace macle::app
