// LayoutWeights: weighs all layouts of a stone on a background thread, each once for as long as it
// and the stone stay as they are.
// Thread contract: use from the GUI thread; the signal arrives there.
#pragma once

#include <QObject>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <thread>
#include <vector>

#include "app/window/workshop.h"

namespace macle::app {

class LayoutWeights : public QObject {
    Q_OBJECT
  public:
    explicit LayoutWeights(QObject* parent = nullptr);
    ~LayoutWeights() override;

    struct Weighed {
        Layout layout;
        std::shared_ptr<const WholeLayout> whole;  // null: see trouble
        std::string trouble;
    };

    // `prepared` lends the cutter of its whole rough.
    void weigh(const std::shared_ptr<const Prepared>& prepared, const std::vector<Layout>& layouts);
    // Takes over what is known already.
    void learn(const std::shared_ptr<const Stone>& stone, const Layout& layout,
               const std::shared_ptr<const WholeLayout>& whole);
    void forget();
    // Null while it is not weighed yet.
    const Weighed* find(const Layout& layout) const;
    bool busy() const { return asked_ != told_; }

  Q_SIGNALS:
    void weighed();

  private:
    struct Request {
        long long number = 0;
        std::shared_ptr<const Prepared> prepared;
        std::vector<Layout> layouts;
    };
    void run();
    void keep(const std::shared_ptr<const Stone>& stone, Weighed one);

    std::mutex mutex_;
    std::condition_variable wake_;
    std::optional<Request> waiting_;
    std::shared_ptr<Progress> running_;
    bool ending_ = false;

    // GUI only
    std::shared_ptr<const Stone> stone_;  // that what is known is about
    std::vector<std::shared_ptr<const Weighed>> known_;
    long long asked_ = 0;
    long long told_ = 0;
    std::thread thread_;
};

}  // namespace macle::app
