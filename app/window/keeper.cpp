#include "app/window/keeper.h"

#include <utility>

namespace macle::app {
namespace {

constexpr int kSoon_ms = 1500;  // after an edit, so that a drag is kept once and not at every move

}  // namespace

Keeper::Keeper(Document& document, std::filesystem::path folder, QObject* parent)
    : QObject(parent), document_(document), folder_(std::move(folder)) {
    timer_.setSingleShot(true);
    timer_.setInterval(kSoon_ms);
    connect(&timer_, &QTimer::timeout, this, &Keeper::keepNow);
    connect(&document_, &Document::opened, this, &Keeper::openedAnother);
    connect(&document_, &Document::edited, this, &Keeper::soon);
    connect(&document_, &Document::saved, this, &Keeper::letGo);
    thread_ = std::thread([this] { run(); });
}

Keeper::~Keeper() {
    timer_.stop();
    {
        const std::lock_guard lock(mutex_);
        ending_ = true;
    }
    wake_.notify_all();
    thread_.join();
}

void Keeper::openedAnother() {
    letGo();
    if (!document_.isOpen()) return;
    of_ = draftOf(document_.path());
    if (!next_.empty()) {
        drafted_ = true;
        post([this, draft = std::exchange(next_, {})] { draft_ = Draft::adopt(draft); });
    } else if (document_.neverSaved()) {
        soon();
    }
}

void Keeper::soon() {
    // Not started anew by every edit: long work in one go is kept on the way, too.
    if (!timer_.isActive()) timer_.start();
}

void Keeper::keepNow() {
    timer_.stop();
    if (!document_.isOpen()) return;
    // Back at the saved state there is nothing to keep.
    if (!document_.isModified()) {
        letGo();
        return;
    }
    drafted_ = true;
    post([this, stone = document_.stone(), layouts = document_.layouts(),
          history = document_.history()->steps().toRecord(), approvals = document_.approvals(),
          of = of_] {
        StoneFile content{*stone, layouts, history, approvals};
        if (draft_)
            draft_->update(content);
        else
            draft_ = std::make_unique<Draft>(folder_, of, content);
        troubleTold_ = false;
        QMetaObject::invokeMethod(
            this, [this] { Q_EMIT kept(); }, Qt::QueuedConnection);
    });
}

void Keeper::letGo() {
    timer_.stop();
    of_ = draftOf(document_.path());
    if (!std::exchange(drafted_, false)) return;
    post([this] {
        if (draft_) draft_->remove();
        draft_.reset();
    });
}

void Keeper::flush() {
    if (timer_.isActive()) keepNow();
    std::unique_lock lock(mutex_);
    wake_.wait(lock, [this] { return work_.empty() && !working_; });
}

void Keeper::post(std::function<void()> work) {
    {
        const std::lock_guard lock(mutex_);
        work_.push_back(std::move(work));
    }
    wake_.notify_all();
}

void Keeper::run() {
    while (true) {
        std::function<void()> work;
        {
            std::unique_lock lock(mutex_);
            wake_.wait(lock, [this] { return ending_ || !work_.empty(); });
            if (work_.empty()) break;
            work = std::move(work_.front());
            work_.pop_front();
            working_ = true;
        }
        try {
            work();
        } catch (const Error& error) {
            // Told once; the next edit tries again.
            if (!std::exchange(troubleTold_, true))
                QMetaObject::invokeMethod(
                    this, [this, error] { Q_EMIT troubled(error); }, Qt::QueuedConnection);
        } catch (const std::exception& error) {
            if (!std::exchange(troubleTold_, true)) {
                const Error told(ErrorCode::Io,
                                 std::string("The draft could not be kept: ") + error.what(),
                                 "Save the stone.");
                QMetaObject::invokeMethod(
                    this, [this, told] { Q_EMIT troubled(told); }, Qt::QueuedConnection);
            }
        }
        {
            const std::lock_guard lock(mutex_);
            working_ = false;
        }
        wake_.notify_all();
    }
    // The draft's lock ends with it; its file stays unless it was let go.
    draft_.reset();
}

}  // namespace macle::app
