// Approving the layout, and the state that is always shown.
#include <QAction>

#include "app/window/approve_dialog.h"
#include "app/window/main_window.h"
#include "core/bench/plan_sheet.h"

namespace macle::app {

void MainWindow::askApproval() {
    const auto prepared = workshop_.prepared();
    if (!prepared || job_) return;
    const Layout layout = document_.layout();
    const auto stone = document_.stone();
    // Computed anew for exactly this layout: what stands in the panel may still be under way.
    startJob(
        tr("Appraising the layout"),
        [this, prepared, stone, layout](Progress& progress) -> Job::HandOver {
            ApproveDialog::Subject subject;
            subject.layout = layout;
            subject.whole = std::make_shared<const WholeLayout>(
                weighWhole(prepared->divided, layout, &progress));
            subject.hash = layoutHash(*stone, layout);
            progress.throwIfCancelled();
            return [this, subject] {
                ApproveDialog::Subject shown = subject;
                shown.state = document_.currentState();
                shown.approvals = document_.approvals();
                for (std::size_t i = 0; i < shown.approvals.size(); ++i)
                    shown.states.push_back(
                        document_.approvalBook().stateOf(i, document_.layouts()));
                auto* dialog = new ApproveDialog(std::move(shown), this);
                dialog->setAttribute(Qt::WA_DeleteOnClose);
                connect(dialog, &QDialog::accepted, this, [this, dialog] {
                    edit([&] {
                        document_.approveLayout(dialog->by(), dialog->remark(), dialog->figures());
                        stage_->setHint(tr("Approved; save the stone file to keep the record."));
                    });
                });
                connect(dialog, &ApproveDialog::takeBackAsked, this, &MainWindow::takeBackApproved);
                dialog->open();
            };
        });
}

void MainWindow::takeBackApproved(std::size_t approval) {
    if (approval >= document_.approvals().size() || job_) return;
    const Approval& chosen = document_.approvals()[approval];
    edit([&] {
        document_.changeLayout(
            tr("Bring back the layout approved by %1").arg(QString::fromStdString(chosen.by)),
            approvedLayout(chosen));
    });
    displayLayout();  // a works' own cut is as it was then, even where the layout names the same
    if (document_.currentState() == LayoutState::Draft)
        stage_->setHint(
            tr("The layout is as approved, but the stone has changed since: undo those "
               "changes or approve anew."));
}

void MainWindow::displayState() {
    if (!document_.isOpen()) {
        resultPanel_->displayState({}, {}, false);
        return;
    }
    const StateWords words =
        stateWords(document_.approvalBook(), document_.layout(), document_.approvals(), locale());
    resultPanel_->displayState(words.sentence, words.more,
                               document_.currentState() == LayoutState::Approved);
}

}  // namespace macle::app
