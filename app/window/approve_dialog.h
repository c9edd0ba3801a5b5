// ApproveDialog: what is approved (layout, weights, identity), by whom, with which remark; below it
// the approvals so far, from which an approved layout can be taken back.
// Thread contract: GUI thread.
#pragma once

#include <memory>
#include <vector>

#include "app/window/steady_dialog.h"
#include "core/appraise/whole_layout.h"
#include "core/archive/approval.h"

class QLabel;
class QLineEdit;
class QTableWidget;

namespace macle::app {

class ApproveDialog : public SteadyDialog {
    Q_OBJECT
  public:
    struct Subject {
        Layout layout;
        std::shared_ptr<const WholeLayout> whole;  // never null
        std::string hash;
        LayoutState state = LayoutState::Draft;
        std::vector<Approval> approvals;
        std::vector<LayoutState> states;  // one for each approval
    };
    ApproveDialog(Subject subject, QWidget* parent);

    std::string by() const;
    std::string remark() const;
    std::map<std::string, double> figures() const;  // as shown

  Q_SIGNALS:
    void takeBackAsked(std::size_t approval);

  private:
    void update();
    QTableWidget* makeRecord();

    Subject subject_;
    QLineEdit* by_ = nullptr;
    QLineEdit* remark_ = nullptr;
    QPushButton* approve_ = nullptr;
};

// "25 Nov 2026, 14:02", in the desktop's time.
QString approvedAt(const Approval& approval, const QLocale& locale);

// What the panel of figures says about the layout in one sentence, and what it says when asked.
struct StateWords {
    QString sentence;
    QString more;
};
StateWords stateWords(const ApprovalBook& book, const Layout& layout,
                      const std::vector<Approval>& approvals, const QLocale& locale);

}  // namespace macle::app
