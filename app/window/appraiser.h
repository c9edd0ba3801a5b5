// Appraiser: computes the whole appraisal of the latest layout on a background thread. A newer
// request cancels the one under way.
// Thread contract: use from the GUI thread; the signal arrives there.
#pragma once

#include <QObject>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>

#include "app/window/workshop.h"
#include "core/appraise/clarity_scale.h"
#include "core/appraise/layout_appraisal.h"
#include "core/appraise/price_table.h"
#include "core/appraise/shop_rates.h"

namespace macle::app {

// The works' own files and wishes, for every stone.
struct AppraisalWishes {
    std::filesystem::path prices;  // empty: none
    std::filesystem::path rates;   // empty: the program's defaults
    bool doubt = false;
    bool turns = false;
};

// The files that are wished for, read.
struct AppraisalFiles {
    ClarityScale scale;
    ShopRates rates;
    std::optional<PriceTable> prices;
    // Points into this, which must outlive it.
    AppraisalInputs inputs() const;
};
// Throws what their readers throw.
AppraisalFiles readAppraisalFiles(const AppraisalWishes& wishes);

struct AppraisalNews {
    long long number = 0;
    std::optional<LayoutAppraisal> appraisal;
    std::vector<FigureLine> lines;
    std::string trouble;  // why there is none
};

class Appraiser : public QObject {
    Q_OBJECT
  public:
    explicit Appraiser(QObject* parent = nullptr);
    ~Appraiser() override;

    long long request(std::shared_ptr<const Prepared> prepared, const PlannedStone& planned,
                      const AppraisalWishes& wishes);
    void cancel();
    bool busy() const { return asked_ != told_; }

  Q_SIGNALS:
    void ready(std::shared_ptr<const macle::app::AppraisalNews> news);

  private:
    struct Request {
        long long number = 0;
        std::shared_ptr<const Prepared> prepared;
        PlannedStone planned;
        AppraisalWishes wishes;
    };
    void run();
    static void compute(const Request& request, Progress& progress, AppraisalNews& news);

    std::mutex mutex_;
    std::condition_variable wake_;
    std::optional<Request> waiting_;
    std::shared_ptr<Progress> running_;
    bool ending_ = false;
    long long asked_ = 0;  // GUI only
    long long told_ = 0;   // GUI only
    std::thread thread_;
};

}  // namespace macle::app
