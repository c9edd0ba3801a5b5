#include "app/window/approve_dialog.h"

#include <QDateTime>
#include <QDialogButtonBox>
#include <QFormLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QSettings>
#include <QTableWidget>
#include <QVBoxLayout>
#include <algorithm>

#include "app/window/theme.h"
#include "core/cut/library.h"

namespace macle::app {
namespace {

constexpr char kApproverKey[] = "approval/by";
constexpr char kFinished[] = "finished_ct";
constexpr char kRough[] = "rough_ct";
constexpr char kRecovery[] = "recovery_percent";

}  // namespace

QString approvedAt(const Approval& approval, const QLocale& locale) {
    const QDateTime at =
        QDateTime::fromString(QString::fromStdString(approval.at_utc), Qt::ISODate).toLocalTime();
    return at.isValid() ? locale.toString(at, QObject::tr("d MMM yyyy, HH:mm"))
                        : QString::fromStdString(approval.at_utc);
}

StateWords stateWords(const ApprovalBook& book, const Layout& layout,
                      const std::vector<Approval>& approvals, const QLocale& locale) {
    const auto named = [&](const Approval& approval) {
        return QObject::tr("%1, %2").arg(QString::fromStdString(approval.by),
                                         approvedAt(approval, locale));
    };
    const auto told = [](const Approval& approval) {
        QString more = QObject::tr("Record %1").arg(QString::fromStdString(approval.sha256));
        if (!approval.note.empty())
            more = QObject::tr("Remark: %1\n").arg(QString::fromStdString(approval.note)) + more;
        return more;
    };
    const auto intact = std::find_if(approvals.rbegin(), approvals.rend(),
                                     [](const Approval& approval) { return approval.intact; });
    switch (book.state(layout)) {
        case LayoutState::Approved: {
            const Approval& mine = approvals[*book.approvalOf(layout)];
            return {QObject::tr("Approved by %1").arg(named(mine)), told(mine)};
        }
        case LayoutState::Replaced:
            return {QObject::tr("Replaced: the approval by %1 took its place").arg(named(*intact)),
                    told(*intact)};
        case LayoutState::Draft:
            break;
    }
    if (intact == approvals.rend()) return {QObject::tr("Draft, not approved"), {}};
    return {QObject::tr("Draft: changed since the approval by %1").arg(named(*intact)),
            told(*intact)};
}

ApproveDialog::ApproveDialog(Subject subject, QWidget* parent)
    : SteadyDialog(parent), subject_(std::move(subject)) {
    setObjectName("approveDialog");
    setWindowTitle(tr("Approve the layout"));
    resize(620, subject_.approvals.empty() ? 240 : 500);
    const QLocale& l = locale();
    const WholeLayout& whole = *subject_.whole;
    auto* column = new QVBoxLayout(this);
    auto* head = new QLabel(
        tr("What you approve is frozen with its rough, defects and placement. Any later change "
           "makes a draft of it, and a later approval takes its place. This is a record, not a "
           "signature; weights and clarity are planning estimates."));
    head->setWordWrap(true);
    column->addWidget(head);
    auto* form = new QFormLayout;
    const auto row = [&](const QString& label, const char* name, const QString& text) {
        auto* value = new QLabel(text);
        value->setObjectName(name);
        value->setWordWrap(true);
        value->setTextInteractionFlags(Qt::TextSelectableByMouse);
        form->addRow(label, value);
        return value;
    };
    QStringList stones;
    for (const PlannedStone& stone : subject_.layout.stones)
        stones << tr("%1, %2 mm")
                      .arg(QString::fromStdString(findCut(stone.cut).title),
                           l.toString(stone.placement.size_mm, 'f', 3));
    row(tr("Layout"), "approveLayout",
        tr("%1: %2").arg(QString::fromStdString(subject_.layout.name), stones.join("; ")));
    row(tr("Finished weight"), "approveWeight",
        tr("%1 ct of %2 ct rough, %3 %")
            .arg(l.toString(whole.finished_ct, 'f', 3), l.toString(whole.rough_ct, 'f', 3),
                 l.toString(whole.recovery_percent, 'f', 2)));
    if (!subject_.layout.saws.empty())
        row(tr("Saws"), "approveSaws",
            tr("%1, which turn %2 ct to dust; pieces left over weigh %3 ct")
                .arg(subject_.layout.saws.size())
                .arg(l.toString(whole.kerf_ct, 'f', 3), l.toString(whole.leftOver_ct, 'f', 3)));
    const auto attention = [&](const char* name, const QString& words) {
        colourText(row(tr("Attention"), name, words), attentionColour());
    };
    for (const std::string& words : whole.open)
        attention("approveOpen", QString::fromStdString(words));
    double missing_ct = 0.0, naturals_mm2 = 0.0;
    bool inside = true;
    std::ptrdiff_t forbidden = 0;
    for (const WholeStone& stone : whole.stones) {
        const Appraisal& a = stone.weight;
        inside &= a.inside;
        missing_ct += a.loss_missing_ct;
        naturals_mm2 += a.naturals_mm2;
        forbidden += std::count_if(a.defects.begin(), a.defects.end(),
                                   [](const DefectInside& defect) { return defect.forbidden; });
    }
    if (!inside)
        attention("approveAttention",
                  tr("The cut pokes out of the rough: %1 ct missing, %2 mm² of skin left.")
                      .arg(l.toString(missing_ct, 'f', 3), l.toString(naturals_mm2, 'f', 2)));
    if (forbidden > 0)
        attention("approveDefects", tr("%n defect(s) that must not stay would be left inside.",
                                       nullptr, static_cast<int>(forbidden)));
    row(tr("Identity"), "approveHash", QString::fromStdString(subject_.hash))
        ->setToolTip(tr("SHA-256 of all that decides the layout, as the plan sheet prints it"));
    by_ = new QLineEdit(QSettings().value(kApproverKey).toString());
    by_->setObjectName("approveBy");
    form->addRow(tr("Approved &by"), by_);
    remark_ = new QLineEdit;
    remark_->setObjectName("approveRemark");
    form->addRow(tr("&Remark"), remark_);
    column->addLayout(form);
    if (!subject_.approvals.empty()) {
        auto* caption = new QLabel(tr("Approvals so &far"));
        column->addSpacing(6);
        column->addWidget(caption);
        QTableWidget* record = makeRecord();
        caption->setBuddy(record);
        column->addWidget(record, 1);
    } else {
        column->addStretch(1);
    }
    auto* buttons = new QDialogButtonBox(QDialogButtonBox::Cancel);
    approve_ = buttons->addButton(tr("&Approve"), QDialogButtonBox::AcceptRole);
    approve_->setObjectName("approveOk");
    connect(buttons, &QDialogButtonBox::accepted, this, [this] {
        QSettings().setValue(kApproverKey, by_->text().trimmed());
        accept();
    });
    connect(buttons, &QDialogButtonBox::rejected, this, &QDialog::reject);
    connect(by_, &QLineEdit::textChanged, this, &ApproveDialog::update);
    column->addWidget(buttons);
    (by_->text().isEmpty() ? by_ : remark_)->setFocus();
    update();
}

QTableWidget* ApproveDialog::makeRecord() {
    const int count = static_cast<int>(subject_.approvals.size());
    auto* table = new QTableWidget(count, 6, this);
    table->setObjectName("approvals");
    table->setAccessibleName(tr("Approvals so far"));
    table->setHorizontalHeaderLabels(
        {tr("State"), tr("Layout"), tr("By"), tr("When"), tr("Weight"), QString()});
    table->verticalHeader()->hide();
    table->setEditTriggers(QAbstractItemView::NoEditTriggers);
    table->setSelectionBehavior(QAbstractItemView::SelectRows);
    table->setTabKeyNavigation(false);
    for (int row = 0; row < count; ++row) {
        // Latest first.
        const auto index = static_cast<std::size_t>(count - 1 - row);
        const Approval& approval = subject_.approvals[index];
        const auto weight = approval.figures.find(kFinished);
        const QString texts[] = {approval.intact ? QString(layoutStateName(subject_.states[index]))
                                                 : tr("altered: does not count"),
                                 QString::fromStdString(approval.layout),
                                 QString::fromStdString(approval.by),
                                 approvedAt(approval, locale()),
                                 weight == approval.figures.end()
                                     ? QString()
                                     : tr("%1 ct").arg(locale().toString(weight->second, 'f', 3))};
        for (int c = 0; c < 5; ++c) {
            auto* item = new QTableWidgetItem(texts[c]);
            if (!approval.note.empty()) item->setToolTip(QString::fromStdString(approval.note));
            if (c == 4) item->setTextAlignment(Qt::AlignRight | Qt::AlignVCenter);
            table->setItem(row, c, item);
        }
        auto* back = new QPushButton(tr("Bring back"));
        back->setObjectName(QStringLiteral("takeBack%1").arg(index));
        back->setAccessibleName(tr("Bring back the layout approved by %1").arg(texts[2]));
        back->setToolTip(tr("Make the layout that was approved the present one; can be undone"));
        back->setEnabled(approval.intact && subject_.states[index] != LayoutState::Approved);
        connect(back, &QPushButton::clicked, this, [this, index] {
            reject();
            Q_EMIT takeBackAsked(index);
        });
        table->setCellWidget(row, 5, back);
    }
    table->resizeColumnsToContents();
    table->horizontalHeader()->setStretchLastSection(true);
    return table;
}

void ApproveDialog::update() {
    const bool already = subject_.state == LayoutState::Approved;
    approve_->setEnabled(!already && !by_->text().trimmed().isEmpty());
    approve_->setToolTip(already ? tr("This layout is approved as it is.")
                                 : tr("Needs the name of who approves."));
    by_->setEnabled(!already);
    remark_->setEnabled(!already);
}

std::string ApproveDialog::by() const {
    return by_->text().trimmed().toStdString();
}

std::string ApproveDialog::remark() const {
    return remark_->text().trimmed().toStdString();
}

std::map<std::string, double> ApproveDialog::figures() const {
    const WholeLayout& whole = *subject_.whole;
    std::map<std::string, double> shown = {{kFinished, whole.finished_ct},
                                           {kRough, whole.rough_ct},
                                           {kRecovery, whole.recovery_percent}};
    if (!subject_.layout.saws.empty()) shown["kerf_ct"] = whole.kerf_ct;
    return shown;
}

}  // namespace macle::app
