#include "app/window/choice_dialog.h"

#include <QDialogButtonBox>
#include <QHeaderView>
#include <QLabel>
#include <QPushButton>
#include <QTreeWidget>
#include <QVBoxLayout>

#include "app/window/theme.h"

namespace macle::app {

void showChoices(const ChoiceTable& table, const std::function<void(int)>& take, QWidget* parent) {
    auto* dialog = new QDialog(parent);
    dialog->setObjectName("choiceDialog");
    dialog->setAttribute(Qt::WA_DeleteOnClose);
    dialog->setWindowTitle(table.title);
    dialog->resize(680, 380);
    auto* column = new QVBoxLayout(dialog);
    auto* head = new QLabel(table.head);
    head->setWordWrap(true);
    column->addWidget(head);
    auto* tree = new QTreeWidget;
    tree->setObjectName("choices");
    tree->setAccessibleName(table.title);
    tree->setHeaderLabels(table.columns);
    tree->setRootIsDecorated(false);
    tree->setAlternatingRowColors(true);
    const int words = static_cast<int>(table.columns.size()) - 1;
    for (const QStringList& row : table.rows) {
        auto* item = new QTreeWidgetItem(row);
        for (int c = 0; c < words; ++c)
            item->setTextAlignment(c, Qt::AlignRight | Qt::AlignVCenter);
        item->setToolTip(words, row.back());
        tree->addTopLevelItem(item);
    }
    for (int c = 0; c < words; ++c) {
        tree->headerItem()->setTextAlignment(c, Qt::AlignRight | Qt::AlignVCenter);
        tree->resizeColumnToContents(c);
    }
    column->addWidget(tree, 1);
    if (!table.caution.isEmpty()) {
        auto* caution = new QLabel(table.caution);
        caution->setWordWrap(true);
        colourText(caution, quietText());
        column->addWidget(caution);
    }
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Close);
    auto* use = buttons->addButton(QDialog::tr("Take this one"), QDialogButtonBox::ActionRole);
    use->setObjectName("takeChoice");
    use->setEnabled(false);
    QObject::connect(tree, &QTreeWidget::itemSelectionChanged, use,
                     [tree, use] { use->setEnabled(!tree->selectedItems().isEmpty()); });
    QObject::connect(use, &QPushButton::clicked, dialog,
                     [dialog, tree, use, take, several = table.several] {
                         const int row = tree->indexOfTopLevelItem(tree->currentItem());
                         if (several) {
                             // Not twice.
                             tree->currentItem()->setDisabled(true);
                             tree->clearSelection();
                             use->setEnabled(false);
                         } else {
                             dialog->close();
                         }
                         take(row);
                     });
    QObject::connect(buttons, &QDialogButtonBox::rejected, dialog, &QDialog::reject);
    column->addWidget(buttons);
    dialog->open();
}

}  // namespace macle::app
