#include "app/window/appraisal_panel.h"

#include <QCheckBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QImage>
#include <QLabel>
#include <QSettings>
#include <QStyledItemDelegate>
#include <QToolButton>
#include <QTreeWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/theme.h"
#include "core/appraise/reason.h"

namespace macle::app {
namespace {

constexpr char kPricesKey[] = "appraisal/prices";
constexpr char kRatesKey[] = "appraisal/rates";
constexpr char kDoubtKey[] = "appraisal/doubt";
constexpr char kTurnsKey[] = "appraisal/turns";
constexpr int kFace_px = 150;

std::filesystem::path pathOf(const QString& text) {
    return {text.toStdU16String()};
}
QString textOf(const std::filesystem::path& path) {
    return QString::fromStdU16String(path.u16string());
}

// Rows as high as their words need when they wrap; the views of Qt elide them otherwise.
class WrappedWords : public QStyledItemDelegate {
  public:
    explicit WrappedWords(QTreeWidget* tree) : QStyledItemDelegate(tree), tree_(tree) {
        connect(tree->header(), &QHeaderView::sectionResized, tree,
                [tree] { tree->doItemsLayout(); });
    }
    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override {
        constexpr int kAround_px = 8;
        QSize size = QStyledItemDelegate::sizeHint(option, index);
        const bool reason = index.parent().isValid();
        const int width = (reason ? tree_->viewport()->width() - 2 * tree_->indentation()
                                  : tree_->columnWidth(index.column())) -
                          kAround_px;
        if (!reason && index.column() == 0) return size;
        const QFontMetrics metrics(index.data(Qt::FontRole).isValid()
                                       ? index.data(Qt::FontRole).value<QFont>()
                                       : option.font);
        const QRect needed = metrics.boundingRect(QRect(0, 0, std::max(width, 40), 10000),
                                                  Qt::TextWordWrap, index.data().toString());
        size.setHeight(std::max(size.height(), needed.height() + 4));
        size.setWidth(width);
        return size;
    }

  private:
    QTreeWidget* tree_;
};

}  // namespace

AppraisalPanel::AppraisalPanel(QWidget* parent) : QWidget(parent) {
    setObjectName("appraisalPanel");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(12, 6, 12, 12);
    auto* top = new QHBoxLayout;
    face_ = new QLabel;
    face_->setObjectName("facePicture");
    face_->setFixedSize(kFace_px, kFace_px);
    face_->setAccessibleName(tr("The cut from above, as light shows it"));
    face_->setToolTip(
        tr("Seen through the table under even light from above; rays followed "
           "through the stone"));
    top->addWidget(face_);
    auto* words = new QVBoxLayout;
    computing_ = new QLabel;
    computing_->setObjectName("appraising");
    words->addWidget(computing_);
    swatch_ = new QLabel;
    swatch_->setObjectName("faceColour");
    swatch_->setWordWrap(true);
    words->addWidget(swatch_);
    words->addStretch(1);
    caution_ =
        new QLabel(tr("Grades, times, values and colours here are planning estimates, not a "
                      "grading report."));
    caution_->setWordWrap(true);
    words->addWidget(caution_);
    top->addLayout(words, 1);
    column->addLayout(top);

    figures_ = new QTreeWidget;
    figures_->setObjectName("figures");
    figures_->setAccessibleName(tr("Figures of the layout"));
    figures_->setToolTip(tr("What the last edit changed is bold, beside what it was before"));
    figures_->setHeaderLabels({tr("Figure"), tr("Now"), tr("Before")});
    figures_->header()->setSectionResizeMode(0, QHeaderView::ResizeToContents);
    figures_->header()->setSectionResizeMode(1, QHeaderView::Stretch);
    figures_->header()->setSectionResizeMode(2, QHeaderView::Stretch);
    figures_->setWordWrap(true);
    figures_->setItemDelegate(new WrappedWords(figures_));
    figures_->header()->setStretchLastSection(false);
    column->addWidget(figures_, 1);
    trouble_ = new QLabel;
    trouble_->setObjectName("appraisalTrouble");
    trouble_->setWordWrap(true);
    trouble_->hide();
    column->addWidget(trouble_);

    doubt_ = new QCheckBox(tr("Doubt of scan, defects and polishing"));
    doubt_->setObjectName("withDoubt");
    turns_ = new QCheckBox(tr("Turns of the cut against the grain"));
    turns_->setObjectName("withTurns");
    QSettings settings;
    wishes_.prices = pathOf(settings.value(kPricesKey).toString());
    wishes_.rates = pathOf(settings.value(kRatesKey).toString());
    wishes_.doubt = settings.value(kDoubtKey, false).toBool();
    wishes_.turns = settings.value(kTurnsKey, false).toBool();
    doubt_->setChecked(wishes_.doubt);
    turns_->setChecked(wishes_.turns);
    for (QCheckBox* box : {doubt_, turns_}) {
        box->setToolTip(tr("Takes some seconds more"));
        connect(box, &QCheckBox::toggled, this, [this] {
            wishes_.doubt = doubt_->isChecked();
            wishes_.turns = turns_->isChecked();
            QSettings().setValue(kDoubtKey, wishes_.doubt);
            QSettings().setValue(kTurnsKey, wishes_.turns);
            Q_EMIT wishesChanged();
        });
        column->addWidget(box);
    }
    auto* row = new QHBoxLayout;
    files_ = new QLabel;
    files_->setObjectName("appraisalFiles");
    files_->setWordWrap(true);
    row->addWidget(files_, 1);
    const auto button = [&](const QString& text, const char* name, const QString& tip,
                            void (AppraisalPanel::*asked)()) {
        auto* made = new QToolButton;
        made->setText(text);
        made->setObjectName(name);
        made->setToolTip(tip);
        connect(made, &QToolButton::clicked, this, asked);
        row->addWidget(made);
    };
    button(tr("Prices…"), "choosePrices", tr("Your price table (CSV)"),
           &AppraisalPanel::pricesAsked);
    button(tr("Rates…"), "chooseRates", tr("Your shop rates (JSON)"), &AppraisalPanel::ratesAsked);
    column->addLayout(row);
    displayFiles();
    displayNothing();
    themeChanged();
}

void AppraisalPanel::setPrices(const std::filesystem::path& file) {
    wishes_.prices = file;
    QSettings().setValue(kPricesKey, textOf(file));
    displayFiles();
    Q_EMIT wishesChanged();
}

void AppraisalPanel::setRates(const std::filesystem::path& file) {
    wishes_.rates = file;
    QSettings().setValue(kRatesKey, textOf(file));
    displayFiles();
    Q_EMIT wishesChanged();
}

void AppraisalPanel::displayFiles() {
    files_->setText(
        tr("Prices: %1. Rates: %2.")
            .arg(wishes_.prices.empty() ? tr("none") : textOf(wishes_.prices.filename()),
                 wishes_.rates.empty() ? tr("common practice") : textOf(wishes_.rates.filename())));
}

void AppraisalPanel::display(const AppraisalNews& news, const QString& state) {
    setComputing(false);
    trouble_->setText(QString::fromStdString(news.trouble));
    trouble_->setVisible(!news.trouble.empty());
    if (!news.appraisal) return;
    if (state != state_ && !now_.empty()) before_ = now_;
    state_ = state;
    now_ = news.lines;
    fill();
    displayFace(*news.appraisal);
}

void AppraisalPanel::displayNothing() {
    now_.clear();
    before_.clear();
    state_.clear();
    figures_->clear();
    face_->clear();
    swatch_->clear();
    trouble_->hide();
    setComputing(false);
}

void AppraisalPanel::setComputing(bool computing) {
    computing_->setText(computing ? tr("Appraising …") : QString());
}

void AppraisalPanel::fill() {
    QStringList open;
    for (int i = 0; i < figures_->topLevelItemCount(); ++i)
        if (figures_->topLevelItem(i)->isExpanded()) open << figures_->topLevelItem(i)->text(0);
    figures_->clear();
    for (const FigureLine& line : now_) {
        auto* item = new QTreeWidgetItem(figures_);
        const QString title = QString::fromStdString(line.title);
        const QString text = QString::fromStdString(line.text);
        item->setText(0, title);
        item->setText(1, text);
        item->setToolTip(1, text);
        if (!line.known)
            for (int part = 0; part < 2; ++part)
                item->setForeground(part, quietText());
        const auto was = std::find_if(before_.begin(), before_.end(), [&](const FigureLine& old) {
            return old.title == line.title;
        });
        if (was != before_.end() && was->text != line.text) {
            const QString old = QString::fromStdString(was->text);
            item->setText(2, old);
            item->setToolTip(2, old);
            QFont bold = figures_->font();
            bold.setWeight(QFont::DemiBold);
            item->setFont(0, bold);
            item->setFont(1, bold);
            item->setData(1, Qt::AccessibleTextRole, tr("%1, changed, was %2").arg(text, old));
        }
        for (const Reason& reason : line.reasons) {
            auto* why = new QTreeWidgetItem(item);
            why->setText(0, QString());
            why->setFirstColumnSpanned(true);
            why->setText(0, QString::fromStdString(reasonText(reason)));
            why->setToolTip(0, why->text(0));
        }
        item->setExpanded(open.contains(title));
    }
}

void AppraisalPanel::displayFace(const LayoutAppraisal& appraisal) {
    face_->clear();
    swatch_->clear();
    if (!appraisal.light.figure) return;
    const Raster raster = pictureRaster(appraisal.light.figure->picture);
    const QImage image(raster.rgb.data(), raster.width, raster.height, 3 * raster.width,
                       QImage::Format_RGB888);
    const double ratio = devicePixelRatioF();
    QPixmap pixmap = QPixmap::fromImage(image.scaled(
        QSize(kFace_px, kFace_px) * ratio, Qt::KeepAspectRatio, Qt::SmoothTransformation));
    pixmap.setDevicePixelRatio(ratio);
    face_->setPixmap(pixmap);
    if (!appraisal.faceColour.figure) {
        swatch_->setText(QString::fromStdString(appraisal.faceColour.missing));
        return;
    }
    const auto& srgb = appraisal.faceColour.figure->srgb;
    swatch_->setText(
        tr("<span style='background-color:rgb(%1,%2,%3)'>&nbsp;&nbsp;&nbsp;&nbsp;&nbsp;</span> "
           "face-up colour: chroma %4, hue %5°")
            .arg(srgb[0])
            .arg(srgb[1])
            .arg(srgb[2])
            .arg(locale().toString(appraisal.faceColour.figure->lab.chroma(), 'f', 1),
                 locale().toString(appraisal.faceColour.figure->lab.hue_deg(), 'f', 0)));
}

void AppraisalPanel::themeChanged() {
    colourText(trouble_, attentionColour());
    for (QLabel* quiet : {caution_, files_, computing_})
        colourText(quiet, quietText());
    fill();
}

}  // namespace macle::app
