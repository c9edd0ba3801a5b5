#include "app/window/cluster_dialog.h"

#include <QComboBox>
#include <QDialogButtonBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QTreeWidget>
#include <QVBoxLayout>

#include "app/window/number_box.h"
#include "app/window/theme.h"
#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr double kDistance_mm = 0.8;  // proposed
constexpr double kFarthest_mm = 50.0;
constexpr int kIndexRole = Qt::UserRole;     // of the defect or cluster
constexpr int kNewCluster = kNoCluster - 1;  // in the list of targets

}  // namespace

ClusterDialog::ClusterDialog(ClusteredDefects all, QWidget* parent)
    : SteadyDialog(parent), all_(std::move(all)) {
    setObjectName("clusterDialog");
    setWindowTitle(tr("Clusters of defects"));
    resize(560, 520);
    auto* column = new QVBoxLayout(this);
    auto* first = new QHBoxLayout;
    auto* nearer = new QLabel(tr("Gather those &nearer to one another than"));
    distance_ = new NumberBox;
    distance_->setObjectName("clusterDistance");
    distance_->setAccessibleName(tr("Distance within a cluster"));
    distance_->setDecimals(3);
    distance_->setRange(0.0, kFarthest_mm);
    distance_->setSingleStep(0.1);
    distance_->setSuffix(tr(" mm"));
    distance_->display(kDistance_mm);
    nearer->setBuddy(distance_);
    auto* gather = new QPushButton(tr("&Gather anew"));
    gather->setObjectName("clusterGather");
    gather->setToolTip(tr("Make the clusters by distance; those made by hand go"));
    first->addWidget(nearer);
    first->addWidget(distance_);
    first->addWidget(gather);
    first->addStretch(1);
    column->addLayout(first);
    tree_ = new QTreeWidget;
    tree_->setObjectName("clusters");
    tree_->setAccessibleName(tr("Clusters and their defects"));
    tree_->setHeaderLabels({tr("Cluster, defect"), tr("Kind"), tr("Severity")});
    tree_->setSelectionMode(QAbstractItemView::ExtendedSelection);
    tree_->setTabKeyNavigation(false);
    tree_->setEditTriggers(QAbstractItemView::NoEditTriggers);
    column->addWidget(tree_, 1);
    auto* second = new QHBoxLayout;
    auto* to = new QLabel(tr("&Move the chosen defects to"));
    target_ = new QComboBox;
    target_->setObjectName("clusterTarget");
    target_->setAccessibleName(tr("Where the chosen defects go"));
    to->setBuddy(target_);
    move_ = new QPushButton(tr("Mo&ve"));
    move_->setObjectName("clusterMove");
    second->addWidget(to);
    second->addWidget(target_, 1);
    second->addWidget(move_);
    column->addLayout(second);
    auto* third = new QHBoxLayout;
    rename_ = new QPushButton(tr("&Rename the cluster"));
    rename_->setObjectName("clusterRename");
    rename_->setToolTip(tr("Edit its name in the list"));
    merge_ = new QPushButton(tr("M&erge the chosen clusters"));
    merge_->setObjectName("clusterMerge");
    third->addWidget(rename_);
    third->addWidget(merge_);
    third->addStretch(1);
    column->addLayout(third);
    trouble_ = new QLabel;
    trouble_->setObjectName("clusterTrouble");
    trouble_->setWordWrap(true);
    colourText(trouble_, attentionColour());
    column->addWidget(trouble_);
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Ok | QDialogButtonBox::Cancel);
    buttons->button(QDialogButtonBox::Ok)->setObjectName("clusterOk");
    connect(buttons, &QDialogButtonBox::accepted, this, &QDialog::accept);
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    column->addWidget(buttons);

    connect(gather, &QPushButton::clicked, this, [this] {
        attempt([this] { all_.clusters = clusterByDistance(all_.defects, distance_->value()); });
    });
    connect(move_, &QPushButton::clicked, this, [this] {
        attempt([this] {
            const int target = target_->currentData().toInt();
            if (target == kNewCluster)
                moveToNewCluster(all_, chosenDefects());
            else
                moveToCluster(all_, chosenDefects(), target);
        });
    });
    connect(merge_, &QPushButton::clicked, this,
            [this] { attempt([this] { mergeClusters(all_, chosenClusters()); }); });
    connect(rename_, &QPushButton::clicked, this, [this] {
        for (QTreeWidgetItem* item : tree_->selectedItems())
            if (item->parent() == nullptr) return tree_->editItem(item, 0);
    });
    connect(tree_, &QTreeWidget::itemChanged, this, [this](QTreeWidgetItem* item) {
        if (filling_ || item->parent() != nullptr) return;
        const int cluster = item->data(0, kIndexRole).toInt();
        // Queued: the list is filled anew, and the item would go while it reports.
        QMetaObject::invokeMethod(
            this,
            [this, cluster, name = item->text(0).trimmed().toStdString()] {
                attempt([&] { renameCluster(all_, cluster, name); });
            },
            Qt::QueuedConnection);
    });
    connect(tree_, &QTreeWidget::itemSelectionChanged, this, &ClusterDialog::choose);
    fill();
}

void ClusterDialog::attempt(const std::function<void()>& change) {
    try {
        change();
        trouble_->clear();
    } catch (const Error& error) {
        trouble_->setText(QString::fromStdString(error.message() + " " + error.remedy()));
    }
    fill();
}

void ClusterDialog::fill() {
    filling_ = true;
    tree_->clear();
    target_->clear();
    const int count = static_cast<int>(all_.clusters.size());
    const auto addDefect = [this](QTreeWidgetItem* under, int index) {
        const Defect& defect = all_.defects[static_cast<std::size_t>(index)];
        auto* item = new QTreeWidgetItem(under);
        item->setText(0, QString::fromStdString(defect.name));
        item->setText(1, kindName(defect.kind));
        item->setText(2, severityLabel(defect.severity));
        item->setData(0, kIndexRole, index);
    };
    for (int c = 0; c < count; ++c) {
        const DefectCluster& cluster = all_.clusters[static_cast<std::size_t>(c)];
        auto* item = new QTreeWidgetItem(tree_);
        item->setText(0, QString::fromStdString(cluster.name));
        item->setData(0, kIndexRole, c);
        item->setFlags(item->flags() | Qt::ItemIsEditable);
        for (const int member : cluster.members)
            addDefect(item, member);
        target_->addItem(QString::fromStdString(cluster.name), c);
    }
    QTreeWidgetItem* none = nullptr;
    for (int i = 0; i < static_cast<int>(all_.defects.size()); ++i) {
        if (all_.defects[static_cast<std::size_t>(i)].cluster != kNoCluster) continue;
        if (none == nullptr) {
            none = new QTreeWidgetItem(tree_);
            none->setText(0, tr("In no cluster"));
            none->setData(0, kIndexRole, kNoCluster);
        }
        addDefect(none, i);
    }
    target_->addItem(tr("a new cluster"), kNewCluster);
    target_->addItem(tr("no cluster"), kNoCluster);
    tree_->expandAll();
    for (int c = 0; c < 2; ++c)
        tree_->resizeColumnToContents(c);
    filling_ = false;
    choose();
}

void ClusterDialog::choose() {
    if (filling_) return;
    const std::vector<int> defects = chosenDefects(), clusters = chosenClusters();
    move_->setEnabled(!defects.empty());
    rename_->setEnabled(clusters.size() == 1);
    merge_->setEnabled(clusters.size() >= 2);
    Q_EMIT defectChosen(defects.size() == 1 ? defects.front() : -1);
}

std::vector<int> ClusterDialog::chosenDefects() const {
    std::vector<int> chosen;
    for (const QTreeWidgetItem* item : tree_->selectedItems())
        if (item->parent() != nullptr) chosen.push_back(item->data(0, kIndexRole).toInt());
    return chosen;
}

std::vector<int> ClusterDialog::chosenClusters() const {
    std::vector<int> chosen;
    for (const QTreeWidgetItem* item : tree_->selectedItems())
        if (item->parent() == nullptr && item->data(0, kIndexRole).toInt() != kNoCluster)
            chosen.push_back(item->data(0, kIndexRole).toInt());
    return chosen;
}

}  // namespace macle::app
