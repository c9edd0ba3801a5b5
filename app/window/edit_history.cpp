#include "app/window/edit_history.h"

#include <QAction>
#include <utility>

namespace macle::app {

EditHistory::EditHistory(Apply apply, QObject* parent)
    : QObject(parent), apply_(std::move(apply)) {}

void EditHistory::reset(std::shared_ptr<const Stone> stone, const std::vector<Layout>& layouts,
                        HistoryRecord record) {
    history_.reset(std::move(stone), layouts, std::move(record));
    setClean();
}

void EditHistory::record(const QString& name, int gesture,
                         const std::shared_ptr<const Stone>& stone,
                         const std::vector<Layout>& layouts) {
    history_.record(name.toStdString(), gesture, stone, layouts);
    tell();
}

QString EditHistory::text(int step) const {
    if (step < 0 || step >= count()) return {};
    return QString::fromStdString(history_.steps()[static_cast<std::size_t>(step)]->name);
}

QDateTime EditHistory::time(int step) const {
    if (step < 0 || step >= count()) return {};
    return QDateTime::fromString(
               QString::fromStdString(history_.steps()[static_cast<std::size_t>(step)]->at_utc),
               Qt::ISODate)
        .toLocalTime();
}

void EditHistory::undo() {
    if (canUndo()) goTo(index() - 1);
}

void EditHistory::redo() {
    if (canRedo()) goTo(index() + 1);
}

void EditHistory::goTo(int index_) {
    if (index_ < 0 || index_ > count() || index_ == index()) return;
    History::State state;
    try {
        while (index() != index_)
            state = index() > index_ ? history_.undo() : history_.redo();
    } catch (const Error& error) {
        // As far as the steps are sound.
        if (state.stone) apply_(std::move(state));
        tell();
        Q_EMIT troubled(error);
        return;
    }
    apply_(std::move(state));
    tell();
}

std::shared_ptr<const Step> EditHistory::latest() const {
    return canUndo() ? history_.steps()[history_.done() - 1] : nullptr;
}

bool EditHistory::isClean() const {
    const auto step = latest();
    return step == cleanStep_ && (step || history_.dropped() == cleanDropped_);
}

void EditHistory::setClean() {
    cleanStep_ = latest();
    cleanDropped_ = history_.dropped();
    tell();
}

void EditHistory::tell() {
    Q_EMIT changed();
    if (isClean() == toldClean_) return;
    toldClean_ = !toldClean_;
    Q_EMIT cleanChanged(toldClean_);
}

QAction* EditHistory::createUndoAction(QObject* parent, const QString& prefix) {
    return makeAction(parent, prefix, true);
}

QAction* EditHistory::createRedoAction(QObject* parent, const QString& prefix) {
    return makeAction(parent, prefix, false);
}

QAction* EditHistory::makeAction(QObject* parent, const QString& prefix, bool back) {
    auto* action = new QAction(prefix, parent);
    const auto refresh = [this, action, prefix, back] {
        const QString step = back ? undoText() : redoText();
        action->setEnabled(back ? canUndo() : canRedo());
        action->setText(step.isEmpty() ? prefix : QStringLiteral("%1 %2").arg(prefix, step));
    };
    refresh();
    connect(this, &EditHistory::changed, action, refresh);
    connect(action, &QAction::triggered, this, [this, back] {
        if (back)
            undo();
        else
            redo();
    });
    return action;
}

}  // namespace macle::app
