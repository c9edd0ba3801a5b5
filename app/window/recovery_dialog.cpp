#include "app/window/recovery_dialog.h"

#include <QDateTime>
#include <QDialogButtonBox>
#include <QHeaderView>
#include <QLabel>
#include <QLocale>
#include <QMessageBox>
#include <QPushButton>
#include <QTreeWidget>
#include <QVBoxLayout>

#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr int kColumnGap = 24;  // between what stands in neighbouring columns

QString textOf(const std::filesystem::path& path) {
    return QString::fromStdU16String(path.u16string());
}

}  // namespace

RecoveryDialog::RecoveryDialog(std::vector<DraftInfo> drafts, QWidget* parent)
    : QDialog(parent), drafts_(std::move(drafts)) {
    setObjectName("recoveryDialog");
    setWindowTitle(tr("Unsaved work"));
    resize(640, 340);
    auto* column = new QVBoxLayout(this);
    auto* head = new QLabel(
        tr("Macle did not end in order. This work had not been saved. Recovering opens it; the "
           "stone's file stays as it is until you save."));
    head->setWordWrap(true);
    column->addWidget(head);
    list_ = new QTreeWidget;
    list_->setObjectName("drafts");
    list_->setAccessibleName(tr("Unsaved work"));
    list_->setHeaderLabels({tr("Stone"), tr("Last change"), tr("File saved")});
    list_->setRootIsDecorated(false);
    list_->setTabKeyNavigation(false);
    column->addWidget(list_, 1);
    detail_ = new QLabel;
    detail_->setObjectName("draftDetail");
    detail_->setWordWrap(true);
    detail_->setMinimumHeight(3 * fontMetrics().lineSpacing());
    detail_->setAlignment(Qt::AlignLeft | Qt::AlignTop);
    detail_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    column->addWidget(detail_);
    auto* buttons = new QDialogButtonBox;
    recover_ = buttons->addButton(tr("&Recover"), QDialogButtonBox::AcceptRole);
    recover_->setObjectName("recover");
    discard_ = buttons->addButton(tr("&Discard…"), QDialogButtonBox::DestructiveRole);
    discard_->setObjectName("discardDraft");
    auto* later = buttons->addButton(tr("&Not now"), QDialogButtonBox::RejectRole);
    later->setObjectName("recoverLater");
    later->setToolTip(tr("Keep the drafts and ask again at the next start"));
    column->addWidget(buttons);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    connect(buttons, &QDialogButtonBox::accepted, this, [this] {
        const int index = chosen();
        if (index < 0) return;
        accept();
        Q_EMIT recoverAsked(drafts_[static_cast<std::size_t>(index)]);
    });
    connect(discard_, &QPushButton::clicked, this, &RecoveryDialog::discard);
    connect(list_, &QTreeWidget::itemSelectionChanged, this, &RecoveryDialog::refresh);
    connect(list_, &QTreeWidget::itemActivated, recover_, [this] {
        if (recover_->isEnabled()) recover_->click();
    });
    fill();
}

void RecoveryDialog::fill() {
    list_->clear();
    const auto shown = [this](const std::string& utc) {
        const QDateTime time =
            QDateTime::fromString(QString::fromStdString(utc), Qt::ISODateWithMs).toLocalTime();
        return time.isValid() ? locale().toString(time, tr("d MMM yyyy, HH:mm:ss")) : QString();
    };
    for (const DraftInfo& draft : drafts_) {
        auto* item = new QTreeWidgetItem(list_);
        const bool sound = draft.trouble.empty();
        item->setText(0, sound ? QString::fromStdString(draft.stoneName) : tr("Damaged draft"));
        item->setText(1, shown(draft.changed_utc));
        item->setText(2, draft.of.file.empty() ? (sound ? tr("never") : QString())
                                               : shown(draft.of.saved_utc));
    }
    for (int column = 0; column < 2; ++column) {
        list_->resizeColumnToContents(column);
        list_->setColumnWidth(column, list_->columnWidth(column) + kColumnGap);
    }
    if (!drafts_.empty()) list_->setCurrentItem(list_->topLevelItem(0));
    refresh();
}

int RecoveryDialog::chosen() const {
    const auto items = list_->selectedItems();
    return items.isEmpty() ? -1 : list_->indexOfTopLevelItem(items.front());
}

void RecoveryDialog::refresh() {
    const int index = chosen();
    recover_->setEnabled(false);
    discard_->setEnabled(index >= 0);
    if (index < 0) {
        detail_->clear();
        return;
    }
    const DraftInfo& draft = drafts_[static_cast<std::size_t>(index)];
    recover_->setEnabled(draft.trouble.empty());
    recover_->setDefault(true);
    if (!draft.trouble.empty())
        detail_->setText(QString::fromStdString(draft.trouble));
    else if (draft.of.file.empty())
        detail_->setText(tr("This stone was never saved; the draft is all there is of it."));
    else if (draft.fileChangedSince)
        detail_->setText(tr("%1 was saved again, moved or removed after this work began. Recover "
                            "it and compare before you save over the file.")
                             .arg(textOf(draft.of.file)));
    else
        detail_->setText(tr("Belongs to %1.").arg(textOf(draft.of.file)));
}

void RecoveryDialog::discard() {
    const int index = chosen();
    if (index < 0) return;
    QMessageBox box(QMessageBox::Question, tr("Macle"), tr("Discard this unsaved work for good?"),
                    QMessageBox::Discard | QMessageBox::Cancel, this);
    box.setObjectName("discardDraftBox");
    box.setDefaultButton(QMessageBox::Cancel);
    if (box.exec() != QMessageBox::Discard) return;
    try {
        discardDraft(drafts_[static_cast<std::size_t>(index)].draft);
    } catch (const Error& error) {
        Q_EMIT discardFailed(QString::fromStdString(error.message()),
                             QString::fromStdString(error.remedy()));
        return;
    }
    drafts_.erase(drafts_.begin() + index);
    fill();
    if (drafts_.empty()) reject();
}

}  // namespace macle::app
