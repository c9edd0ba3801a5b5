#include "app/window/appraiser.h"

#include "core/base/error.h"

namespace macle::app {
namespace {

constexpr int kDoubtSamples = 400;
constexpr double kTurnStep_deg = 5.0;

}  // namespace

AppraisalFiles readAppraisalFiles(const AppraisalWishes& wishes) {
    AppraisalFiles files;
    files.scale = readClarityScale(defaultClarityScale());
    files.rates = readShopRates(wishes.rates.empty() ? defaultShopRates() : wishes.rates);
    if (!wishes.prices.empty()) files.prices = readPrices({wishes.prices});
    return files;
}

AppraisalInputs AppraisalFiles::inputs() const {
    AppraisalInputs given;
    given.scale = &scale;
    given.rates = &rates;
    given.prices = prices ? &*prices : nullptr;
    return given;
}

Appraiser::Appraiser(QObject* parent) : QObject(parent), thread_([this] { run(); }) {}

Appraiser::~Appraiser() {
    {
        const std::lock_guard lock(mutex_);
        ending_ = true;
        if (running_) running_->cancel();
    }
    wake_.notify_one();
    thread_.join();
}

long long Appraiser::request(std::shared_ptr<const Prepared> prepared, const PlannedStone& planned,
                             const AppraisalWishes& wishes) {
    {
        const std::lock_guard lock(mutex_);
        waiting_ = Request{++asked_, std::move(prepared), planned, wishes};
        if (running_) running_->cancel();
    }
    wake_.notify_one();
    return asked_;
}

void Appraiser::cancel() {
    const std::lock_guard lock(mutex_);
    waiting_.reset();
    if (running_) running_->cancel();
    told_ = asked_;
}

void Appraiser::run() {
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
        auto news = std::make_shared<AppraisalNews>();
        news->number = request.number;
        bool cancelled = false;
        try {
            compute(request, *progress, *news);
        } catch (const Error& error) {
            cancelled = error.code() == ErrorCode::Cancelled;
            news->trouble = error.message() + " " + error.remedy();
        } catch (const std::exception& error) {
            news->trouble = std::string("The figures could not be computed: ") + error.what();
        }
        {
            const std::lock_guard lock(mutex_);
            running_.reset();
        }
        if (cancelled) continue;
        QMetaObject::invokeMethod(
            this,
            [this, news = std::shared_ptr<const AppraisalNews>(std::move(news))] {
                if (news->number != asked_) return;
                told_ = news->number;
                Q_EMIT ready(news);
            },
            Qt::QueuedConnection);
    }
}

void Appraiser::compute(const Request& request, Progress& progress, AppraisalNews& news) {
    const PlannedStone& planned = request.planned;
    const AppraisalFiles files = readAppraisalFiles(request.wishes);
    AppraisalInputs inputs = files.inputs();
    if (request.wishes.doubt) inputs.doubt = DoubtRules{.samples = kDoubtSamples};
    if (request.wishes.turns) inputs.turnStep_deg = kTurnStep_deg;
    const Subject subject{*request.prepared->stone,
                          *request.prepared->cutter,
                          planned.cut,
                          planned.proportions,
                          planned.placement,
                          planned.rules,
                          planned.edits};
    news.appraisal = appraiseLayout(subject, inputs, &progress);
    news.lines = figureLines(*news.appraisal);
}

}  // namespace macle::app
