// Job: one long piece of work on a thread of its own, with progress, cancel and a result that is
// handed over on the GUI thread. The work returns what is to be done there with its result.
// Destroying a job cancels it and waits for it; nothing is handed over then.
// Thread contract: made, started and destroyed on the GUI thread; the work runs on its own.
#pragma once

#include <QObject>
#include <QString>
#include <atomic>
#include <functional>
#include <memory>
#include <thread>

#include "core/base/error.h"
#include "core/base/progress.h"

namespace macle::app {

class Job : public QObject {
    Q_OBJECT
  public:
    using HandOver = std::function<void()>;
    using Work = std::function<HandOver(Progress&)>;

    Job(QString title, Work work, QObject* parent);
    ~Job() override;

    void start();
    void cancel();
    const QString& title() const { return title_; }
    bool cancelled() const { return progress_.cancelled(); }

  Q_SIGNALS:
    void progressed(double fraction);
    // Exactly one of the two, once, on the GUI thread.
    void finished();  // after the hand-over; also after a cancel
    void failed(const macle::Error& error);

  private:
    void run();
    void end(const HandOver& handOver, const std::shared_ptr<const Error>& error);

    QString title_;
    Work work_;
    Progress progress_;
    std::atomic<int> lastPerMille_{-1};
    std::thread thread_;
};

}  // namespace macle::app
