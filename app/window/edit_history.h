// EditHistory: the history of the open stone for the window: undo and redo by name, the actions
// for menus, and whether the state is the saved one.
// Thread contract: GUI thread.
#pragma once

#include <QDateTime>
#include <QObject>
#include <QString>
#include <functional>
#include <memory>

#include "core/archive/history.h"
#include "core/base/error.h"

class QAction;

namespace macle::app {

class EditHistory : public QObject {
    Q_OBJECT
  public:
    using Apply = std::function<void(History::State)>;

    // `apply` makes a restored state the present one.
    explicit EditHistory(Apply apply, QObject* parent = nullptr);

    void reset(std::shared_ptr<const Stone> stone, const std::vector<Layout>& layouts,
               HistoryRecord record);
    void record(const QString& name, int gesture, const std::shared_ptr<const Stone>& stone,
                const std::vector<Layout>& layouts);

    int count() const { return static_cast<int>(steps().steps().size()); }
    int index() const { return static_cast<int>(steps().done()); }  // steps in effect
    QString text(int step) const;
    QDateTime time(int step) const;
    bool canUndo() const { return index() > 0; }
    bool canRedo() const { return index() < count(); }
    QString undoText() const { return canUndo() ? text(index() - 1) : QString(); }
    QString redoText() const { return canRedo() ? text(index()) : QString(); }

    void undo();
    void redo();
    void goTo(int index);  // undoes or redoes until so many steps are in effect

    bool isClean() const;
    void setClean();

    const History& steps() const { return history_; }
    QAction* createUndoAction(QObject* parent, const QString& prefix);
    QAction* createRedoAction(QObject* parent, const QString& prefix);

  Q_SIGNALS:
    void changed();  // steps or the place among them
    void cleanChanged(bool clean);
    void troubled(const macle::Error& error);  // a step that cannot be used

  private:
    QAction* makeAction(QObject* parent, const QString& prefix, bool back);
    void tell();
    std::shared_ptr<const Step> latest() const;

    Apply apply_;
    History history_;
    // The saved state: its latest step, and how many older ones were given up when it had none.
    std::shared_ptr<const Step> cleanStep_;
    std::size_t cleanDropped_ = 0;
    bool toldClean_ = true;
};

}  // namespace macle::app
