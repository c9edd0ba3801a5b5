#include "app/window/layout_weights.h"

#include <algorithm>
#include <utility>

#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr std::size_t kMostKnown = 64;  // each holds the pieces of its division

}  // namespace

LayoutWeights::LayoutWeights(QObject* parent) : QObject(parent), thread_([this] { run(); }) {}

LayoutWeights::~LayoutWeights() {
    {
        const std::lock_guard lock(mutex_);
        ending_ = true;
        if (running_) running_->cancel();
    }
    wake_.notify_one();
    thread_.join();
}

void LayoutWeights::weigh(const std::shared_ptr<const Prepared>& prepared,
                          const std::vector<Layout>& layouts) {
    if (stone_ != prepared->of) forget();
    stone_ = prepared->of;
    std::vector<Layout> unknown;
    for (const Layout& layout : layouts)
        if (find(layout) == nullptr) unknown.push_back(layout);
    {
        const std::lock_guard lock(mutex_);
        if (running_) running_->cancel();
        waiting_ = Request{++asked_, prepared, std::move(unknown)};
    }
    wake_.notify_one();
}

void LayoutWeights::learn(const std::shared_ptr<const Stone>& stone, const Layout& layout,
                          const std::shared_ptr<const WholeLayout>& whole) {
    if (stone_ != stone) forget();
    stone_ = stone;
    if (find(layout) == nullptr) keep(stone, {layout, whole, {}});
}

void LayoutWeights::forget() {
    const std::lock_guard lock(mutex_);
    waiting_.reset();
    if (running_) running_->cancel();
    stone_.reset();
    known_.clear();
    told_ = ++asked_;
}

const LayoutWeights::Weighed* LayoutWeights::find(const Layout& layout) const {
    const auto found = std::find_if(known_.begin(), known_.end(),
                                    [&](const auto& one) { return one->layout == layout; });
    return found == known_.end() ? nullptr : found->get();
}

void LayoutWeights::keep(const std::shared_ptr<const Stone>& stone, Weighed one) {
    if (stone != stone_) return;
    if (known_.size() >= kMostKnown) known_.erase(known_.begin());
    known_.push_back(std::make_shared<const Weighed>(std::move(one)));
}

void LayoutWeights::run() {
    while (true) {
        Request request;
        auto progress = std::make_shared<Progress>();
        {
            std::unique_lock lock(mutex_);
            wake_.wait(lock, [this] { return ending_ || waiting_.has_value(); });
            if (ending_) return;
            request = std::move(*waiting_);
            waiting_.reset();
            running_ = progress;
        }
        const std::shared_ptr<const Prepared> given = request.prepared;
        bool cancelled = false;
        for (const Layout& layout : request.layouts) {
            auto one = std::make_shared<Weighed>();
            one->layout = layout;
            try {
                const auto divided =
                    given->saws == layout.saws
                        ? given->divided
                        : dividedFor(given->of, given->wholeCutter, layout.saws, progress.get());
                one->whole = std::make_shared<const WholeLayout>(
                    weighWhole(divided, layout, progress.get()));
            } catch (const Error& error) {
                cancelled = error.code() == ErrorCode::Cancelled;
                one->trouble = error.message() + " " + error.remedy();
            } catch (const std::exception& error) {
                one->trouble = std::string("It could not be weighed: ") + error.what();
            }
            if (cancelled) break;
            QMetaObject::invokeMethod(
                this,
                [this, stone = given->of, one] {
                    if (find(one->layout) == nullptr) keep(stone, *one);
                    Q_EMIT weighed();
                },
                Qt::QueuedConnection);
        }
        {
            const std::lock_guard lock(mutex_);
            running_.reset();
        }
        if (cancelled) continue;
        QMetaObject::invokeMethod(
            this,
            [this, number = request.number] {
                told_ = std::max(told_, number);
                Q_EMIT weighed();
            },
            Qt::QueuedConnection);
    }
}

}  // namespace macle::app
