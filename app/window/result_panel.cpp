#include "app/window/result_panel.h"

#include <QAction>
#include <QComboBox>
#include <QGridLayout>
#include <QHeaderView>
#include <QLabel>
#include <QListWidget>
#include <QLocale>
#include <QStyledItemDelegate>
#include <QTreeWidget>
#include <QVBoxLayout>
#include <utility>

#include "app/window/theme.h"
#include "core/base/tolerance.h"
#include "core/base/units.h"

namespace macle::app {
namespace {

constexpr int kPolicyColumn = 3;
constexpr double kSameSize = 5e-4;  // relative; what counts as "at its largest" in words

// Shows the policy as words and edits it with a drop-down list.
class PolicyDelegate : public QStyledItemDelegate {
  public:
    using QStyledItemDelegate::QStyledItemDelegate;

    QWidget* createEditor(QWidget* parent, const QStyleOptionViewItem&,
                          const QModelIndex&) const override {
        auto* box = new QComboBox(parent);
        box->setObjectName("policyEditor");
        for (const DefectPolicy policy :
             {DefectPolicy::MustBeCutAway, DefectPolicy::MayStay, DefectPolicy::MayStayAtEdge})
            box->addItem(policyName(policy), static_cast<int>(policy));
        connect(box, &QComboBox::activated, this, [this, box] {
            auto* self = const_cast<PolicyDelegate*>(this);
            Q_EMIT self->commitData(box);
            Q_EMIT self->closeEditor(box);
        });
        QTimer::singleShot(0, box, &QComboBox::showPopup);
        return box;
    }
    void setEditorData(QWidget* editor, const QModelIndex& index) const override {
        auto* box = static_cast<QComboBox*>(editor);
        box->setCurrentIndex(box->findData(index.data(Qt::UserRole)));
    }
    void setModelData(QWidget* editor, QAbstractItemModel* model,
                      const QModelIndex& index) const override {
        auto* box = static_cast<QComboBox*>(editor);
        model->setData(index, box->currentData(), Qt::UserRole);
    }
    void paint(QPainter* painter, const QStyleOptionViewItem& option,
               const QModelIndex& index) const override {
        QStyleOptionViewItem narrowed = option;
        initStyleOption(&narrowed, index);
        QStyledItemDelegate::paint(painter, option, index);
        // A small arrow tells that the cell offers a choice.
        QStyleOption arrow;
        arrow.palette = option.palette;
        arrow.state = option.state | QStyle::State_Enabled;
        arrow.rect = QRect(option.rect.right() - 14, option.rect.center().y() - 5, 10, 10);
        if (option.widget != nullptr)
            option.widget->style()->drawPrimitive(QStyle::PE_IndicatorArrowDown, &arrow, painter,
                                                  option.widget);
    }
    QSize sizeHint(const QStyleOptionViewItem& option, const QModelIndex& index) const override {
        return QStyledItemDelegate::sizeHint(option, index) + QSize(18, 4);
    }
};

QLabel* caption(const QString& text) {
    auto* label = new QLabel(text);
    label->setProperty("quiet", true);
    return label;
}

QLabel* sentence(const char* name) {
    auto* label = new QLabel;
    label->setObjectName(name);
    label->setWordWrap(true);
    label->setTextInteractionFlags(Qt::TextSelectableByMouse);
    return label;
}

// The hold that belongs to a limit: the same place, or as good as.
const FitHold* holdAt(const Figures& figures, const FitLimit& limit) {
    constexpr double kSamePlace = 0.02;  // of the size
    for (const FitHold& hold : figures.holds)
        if (hold.limit.source == limit.source &&
            (hold.limit.point_mm - limit.point_mm).norm() < kSamePlace * figures.placement.size_mm)
            return &hold;
    return nullptr;
}

QString sentenceCase(const std::string& text) {
    QString s = QString::fromStdString(text);
    if (!s.isEmpty()) s[0] = s[0].toUpper();
    return s;
}

}  // namespace

ResultPanel::ResultPanel(QWidget* parent) : QWidget(parent) {
    setObjectName("resultPanel");
    auto* column = new QVBoxLayout(this);
    column->setContentsMargins(12, 10, 12, 12);
    column->setSpacing(4);

    state_ = sentence("layoutState");
    column->addWidget(state_);
    column->addSpacing(4);
    auto* top = new QHBoxLayout;
    weightCaption_ = caption(tr("Finished weight"));
    computing_ = caption(tr("computing…"));
    computing_->setObjectName("computing");
    top->addWidget(weightCaption_);
    top->addStretch(1);
    top->addWidget(computing_);
    column->addLayout(top);
    weight_ = new QLabel;
    weight_->setObjectName("weight");
    weight_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    column->addWidget(weight_);
    all_ = sentence("weightOfAll");
    all_->hide();
    column->addWidget(all_);

    auto* pair = new QGridLayout;
    pair->setHorizontalSpacing(16);
    pair->setVerticalSpacing(0);
    recoveryCaption_ = caption(tr("Recovery"));
    lossCaption_ = caption(tr("Loss"));
    recovery_ = new QLabel;
    recovery_->setObjectName("recovery");
    recovery_->setToolTip(tr("Finished weight as a share of the rough weight, in percent"));
    loss_ = new QLabel;
    loss_->setObjectName("loss");
    loss_->setToolTip(tr("Rough weight less finished weight, in carats"));
    pair->addWidget(recoveryCaption_, 0, 0);
    pair->addWidget(lossCaption_, 0, 1);
    pair->addWidget(recovery_, 1, 0);
    pair->addWidget(loss_, 1, 1);
    pair->setColumnStretch(0, 1);
    pair->setColumnStretch(1, 1);
    column->addLayout(pair);
    // Which weight all these start from, when it is not the scan's.
    basis_ = sentence("weightBasis");
    basis_->hide();
    column->addWidget(basis_);
    column->addSpacing(6);

    fit_ = sentence("fit");
    pokes_ = sentence("pokes");
    column->addWidget(pokes_);
    column->addWidget(fit_);
    proof_ = sentence("proof");
    proof_->hide();
    column->addWidget(proof_);
    column->addSpacing(6);
    clarityCaption_ = caption(tr("Clarity (planning estimate)"));
    column->addWidget(clarityCaption_);
    clarity_ = sentence("clarity");
    column->addWidget(clarity_);
    column->addSpacing(10);

    defectsCaption_ = new QLabel(tr("&Defects"));
    column->addWidget(defectsCaption_);
    defects_ = new QTreeWidget;
    defects_->setObjectName("defects");
    defects_->setAccessibleName(tr("Defects"));
    defects_->setHeaderLabels({tr("Name"), tr("Kind"), tr("Severity"), tr("Policy")});
    defects_->setRootIsDecorated(false);
    defects_->setUniformRowHeights(true);
    defects_->setAlternatingRowColors(true);
    // Only the policy can be edited: by a click on it, or by Enter or F2 anywhere in the row.
    defects_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    connect(defects_, &QTreeWidget::itemClicked, this, [this](QTreeWidgetItem* item, int clicked) {
        if (clicked == kPolicyColumn) defects_->editItem(item, kPolicyColumn);
    });
    connect(defects_, &QTreeWidget::itemActivated, this,
            [this](QTreeWidgetItem* item) { defects_->editItem(item, kPolicyColumn); });
    auto* editPolicy = new QAction(tr("Change the policy of the chosen defect"), this);
    editPolicy->setShortcut(Qt::Key_F2);
    editPolicy->setShortcutContext(Qt::WidgetShortcut);
    connect(editPolicy, &QAction::triggered, this, [this] {
        if (QTreeWidgetItem* item = defects_->currentItem(); item != nullptr)
            defects_->editItem(item, kPolicyColumn);
    });
    defects_->addAction(editPolicy);
    defects_->setItemDelegateForColumn(kPolicyColumn, new PolicyDelegate(defects_));
    defects_->setTabKeyNavigation(false);
    defects_->setToolTip(
        tr("Select a defect to show it on the stage. A click on its policy, or F2, changes the "
           "policy."));
    defects_->header()->setStretchLastSection(true);
    connect(defects_, &QTreeWidget::itemSelectionChanged, this, [this] {
        if (filling_) return;
        const auto chosen = defects_->selectedItems();
        Q_EMIT defectChosen(chosen.isEmpty() ? -1 : defects_->indexOfTopLevelItem(chosen.front()));
    });
    connect(defects_, &QTreeWidget::itemChanged, this, [this](QTreeWidgetItem* item, int column_) {
        if (filling_ || column_ != kPolicyColumn) return;
        const auto policy =
            static_cast<DefectPolicy>(item->data(kPolicyColumn, Qt::UserRole).toInt());
        // Queued: the stone is shown anew by this edit, and the item would go while it reports.
        const int index = defects_->indexOfTopLevelItem(item);
        QMetaObject::invokeMethod(
            this, [this, index, policy] { Q_EMIT policyEdited(index, policy); },
            Qt::QueuedConnection);
    });
    defectsCaption_->setBuddy(defects_);
    column->addWidget(defects_, 3);
    column->addSpacing(8);

    limitsCaption_ = new QLabel(tr("What &limits the fit"));
    column->addWidget(limitsCaption_);
    limits_ = new QListWidget;
    limits_->setObjectName("limits");
    limits_->setAccessibleName(tr("What limits the fit"));
    limits_->setAlternatingRowColors(true);
    limits_->setToolTip(
        tr("Where skin or a defect stops the cut, nearest first. Select one to mark it alone on "
           "the stage."));
    connect(limits_, &QListWidget::itemSelectionChanged, this, [this] {
        if (filling_) return;
        Q_EMIT limitChosen(limits_->selectedItems().isEmpty() ? -1 : limits_->currentRow());
    });
    limitsCaption_->setBuddy(limits_);
    column->addWidget(limits_, 2);

    dim_.setSingleShot(true);
    dim_.setInterval(150);
    connect(&dim_, &QTimer::timeout, this, [this] {
        computing_->setVisible(true);
        colourText(weight_, quietText());
        colourText(recovery_, quietText());
        colourText(loss_, quietText());
    });
    QSizePolicy kept = computing_->sizePolicy();
    kept.setRetainSizeWhenHidden(true);
    computing_->setSizePolicy(kept);
    computing_->hide();
    applyFonts();
    displayNothing();
}

void ResultPanel::applyFonts() {
    const QFont base = font();
    QFont large = base;
    large.setPointSizeF(base.pointSizeF() * 3.2);
    large.setWeight(QFont::DemiBold);
    weight_->setFont(large);
    QFont medium = base;
    medium.setPointSizeF(base.pointSizeF() * 1.8);
    recovery_->setFont(medium);
    loss_->setFont(medium);
    QFont heading = base;
    heading.setWeight(QFont::DemiBold);
    defectsCaption_->setFont(heading);
    limitsCaption_->setFont(heading);
    themeChanged();
}

void ResultPanel::themeChanged() {
    for (QLabel* label :
         {basis_, weightCaption_, computing_, recoveryCaption_, lossCaption_, clarityCaption_})
        colourText(label, quietText());
    colourText(state_, approved_ ? plainText() : quietText());
    colourText(pokes_, attentionColour());
    for (QLabel* label : {weight_, recovery_, loss_})
        colourText(label, plainText());
    write();
}

QString ResultPanel::weight(double ct, bool forceThird) const {
    return locale().toString(ct, 'f', thirdDecimal_ || forceThird ? 3 : 2) + QChar(QChar::Nbsp) +
           tr("ct");
}

void ResultPanel::displayStone(const Stone& stone) {
    caratsPerMm3_ = caratsOf(stone, 1.0);
    const QString basis = QString::fromStdString(weightBasis(stone));
    basis_->setText(basis.left(basis.indexOf(QLatin1Char(';'))));
    basis_->setToolTip(basis);
    basis_->setVisible(!basis.isEmpty());
    filling_ = true;
    const int row = defects_->currentItem() != nullptr && !defects_->selectedItems().isEmpty()
                        ? defects_->indexOfTopLevelItem(defects_->currentItem())
                        : -1;
    defects_->clear();
    QList<QTreeWidgetItem*> items;
    for (const Defect& defect : stone.defects) {
        auto* item = new QTreeWidgetItem;
        item->setText(0, QString::fromStdString(defect.name));
        item->setText(1, kindName(defect.kind));
        item->setText(2, severityLabel(defect.severity));
        item->setIcon(2, severitySwatch(defect.severity, 14, devicePixelRatioF(), quietText()));
        item->setText(kPolicyColumn, policyName(defect.policy));
        item->setData(kPolicyColumn, Qt::UserRole, static_cast<int>(defect.policy));
        if (defect.margin_mm > 0.0)
            item->setToolTip(0, tr("A margin of %1\u00a0mm is kept around it")
                                    .arg(locale().toString(defect.margin_mm, 'f', 3)));
        item->setFlags(Qt::ItemIsEnabled | Qt::ItemIsSelectable | Qt::ItemIsEditable);
        items.append(item);
    }
    defects_->addTopLevelItems(items);
    for (int c = 0; c < kPolicyColumn; ++c)
        defects_->resizeColumnToContents(c);
    if (row >= 0 && row < defects_->topLevelItemCount())
        defects_->setCurrentItem(defects_->topLevelItem(row));
    defectsCaption_->setText(stone.defects.empty() ? tr("&Defects: none")
                                                   : tr("&Defects (%n)", nullptr,
                                                        static_cast<int>(stone.defects.size())));
    filling_ = false;
}

void ResultPanel::displayFigures(const std::shared_ptr<const Figures>& figures) {
    figures_ = figures;
    write();
}

void ResultPanel::displayNothing() {
    figures_.reset();
    filling_ = true;
    defects_->clear();
    defectsCaption_->setText(tr("&Defects"));
    filling_ = false;
    setComputing(false);
    write();
}

void ResultPanel::setComputing(bool computing) {
    if (computing) {
        if (!dim_.isActive() && !computing_->isVisible()) dim_.start();
        return;
    }
    dim_.stop();
    computing_->hide();
    for (QLabel* label : {weight_, recovery_, loss_})
        colourText(label, plainText());
}

void ResultPanel::displayProof(const QString& sentence, const QString& certificate) {
    proof_->setText(sentence);
    proof_->setToolTip(certificate);
    proof_->setVisible(!sentence.isEmpty());
}

void ResultPanel::displayState(const QString& words, const QString& more, bool approved) {
    approved_ = approved;
    state_->setText(words);
    state_->setToolTip(more);
    state_->setAccessibleName(tr("State of the layout: %1").arg(words));
    state_->setVisible(!words.isEmpty());
    colourText(state_, approved ? plainText() : quietText());
    QFont face = font();
    if (approved) face.setWeight(QFont::DemiBold);
    state_->setFont(face);
}

void ResultPanel::setThirdDecimal(bool shown) {
    thirdDecimal_ = shown;
    write();
}

void ResultPanel::write() {
    const QString none = QStringLiteral("–");
    if (!figures_ || !figures_->trouble.empty()) {
        weight_->setText(none);
        weight_->setToolTip({});
        all_->hide();
        recovery_->setText(none);
        loss_->setText(none);
        clarity_->setText(none);
        pokes_->setVisible(figures_ != nullptr);
        if (figures_)
            pokes_->setText(QString::fromStdString(figures_->trouble + " " + figures_->remedy));
        fit_->clear();
        writeLimits();
        return;
    }
    const Appraisal& a = figures_->appraisal;
    weight_->setText(weight(a.finished_ct));
    weight_->setToolTip(
        tr("%1 of %2 rough").arg(weight(a.finished_ct, true), weight(a.rough_ct, true)));
    // Of a divided rough what counts is all that becomes of it.
    const WholeLayout* whole = figures_->whole.get();
    const bool several = whole != nullptr && (whole->stones.size() > 1 || !whole->kerfs_ct.empty());
    const double loss_ct = several ? whole->rough_ct - whole->finished_ct : a.loss_ct;
    const double recovery = several ? whole->recovery_percent : a.recovery_percent;
    weightCaption_->setText(several ? tr("Finished weight, stone %1 of %2")
                                          .arg(figures_->stone + 1)
                                          .arg(whole->stones.size())
                                    : tr("Finished weight"));
    recoveryCaption_->setText(several ? tr("Recovery, all stones") : tr("Recovery"));
    lossCaption_->setText(several ? tr("Loss, all stones") : tr("Loss"));
    all_->setVisible(several);
    if (several)
        all_->setText(tr("All stones %1 of %2 rough")
                          .arg(weight(whole->finished_ct), weight(whole->rough_ct)));
    recovery_->setText(locale().toString(recovery, 'f', 1) + tr(" %"));
    loss_->setText(weight(loss_ct));
    loss_->setToolTip(tr("Rough weight less finished weight: %1").arg(weight(loss_ct, true)));
    clarity_->setText(sentenceCase(a.clarity));
    // A screen reader says the name instead of the text, so the name holds both.
    weight_->setAccessibleName(tr("Finished weight %1").arg(weight_->text()));
    recovery_->setAccessibleName(tr("Recovery %1").arg(recovery_->text()));
    loss_->setAccessibleName(tr("Loss %1").arg(loss_->text()));
    writeFit(*figures_);
    writeLimits();
}

void ResultPanel::writeFit(const Figures& figures) {
    const Appraisal& a = figures.appraisal;
    const QLocale& l = locale();
    pokes_->setVisible(!a.inside);
    if (!a.inside)
        pokes_->setText(
            tr("The cut pokes out of the rough: %1 missing, %2\u00a0mm² of skin left as naturals.")
                .arg(weight(a.loss_missing_ct, true), l.toString(a.naturals_mm2, 'f', 2)));
    const double largest = figures.largest.size_mm;
    const double size = figures.placement.size_mm;
    const bool fits = figures.largest.source >= 0 && size <= largest + tolerance::kInside_mm;
    colourText(fit_, fits ? plainText() : attentionColour());
    if (figures.largest.source < 0 || largest <= 0.0) {
        fit_->setText(
            tr("Nothing fits around this centre: it lies outside the stone or in a "
               "defect that must be cut away."));
        return;
    }
    QString where;
    if (!figures.limits.empty())
        where = tr("%1 on %2")
                    .arg(QString::fromStdString(figures.limits.front().source),
                         QString::fromStdString(figures.limits.front().facet));
    const QString largestText = l.toString(largest, 'f', 3);
    if (!fits)
        fit_->setText(tr("Too large here: %1 stops it at %2\u00a0mm.").arg(where, largestText));
    else if (size < largest * (1.0 - kSameSize))
        fit_->setText(
            tr("Room to grow to %2\u00a0mm, then stopped by %1.").arg(where, largestText));
    else
        fit_->setText(tr("At its largest here, stopped by %1.").arg(where));
}

void ResultPanel::writeLimits() {
    filling_ = true;
    const int row = limits_->selectedItems().isEmpty() ? -1 : limits_->currentRow();
    limits_->clear();
    if (figures_)
        for (const FitLimit& limit : figures_->limits) {
            const QLocale& l = locale();
            auto* item = new QListWidgetItem(
                tr("%1 on %2")
                    .arg(sentenceCase(limit.source), QString::fromStdString(limit.facet)));
            QString tip = tr("At x %1, y %2, z %3 mm.")
                              .arg(l.toString(limit.point_mm.x(), 'f', 2),
                                   l.toString(limit.point_mm.y(), 'f', 2),
                                   l.toString(limit.point_mm.z(), 'f', 2));
            if (const FitHold* hold = holdAt(*figures_, limit)) {
                item->setText(item->text() +
                              tr("  ·  %1\u00a0%").arg(l.toString(100.0 * hold->share, 'f', 0)));
                const double gain_ct = caratsPerMm3_ * 0.01 * hold->gain_mm3_per_mm;
                tip +=
                    tr("\nHolds %1\u00a0% of the size. If it gave way by 0.01\u00a0mm, the cut "
                       "would gain %2\u00a0ct.")
                        .arg(l.toString(100.0 * hold->share, 'f', 1), l.toString(gain_ct, 'f', 4));
            }
            item->setToolTip(tip);
            limits_->addItem(item);
        }
    filling_ = false;
    if (row >= 0) Q_EMIT limitChosen(-1);
}

}  // namespace macle::app
