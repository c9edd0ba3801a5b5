#include "app/window/job.h"

#include <new>
#include <utility>

namespace macle::app {

Job::Job(QString title, Work work, QObject* parent)
    : QObject(parent),
      title_(std::move(title)),
      work_(std::move(work)),
      progress_([this](double fraction) {
          // Loops report far more often than a bar can show.
          const int perMille = static_cast<int>(fraction * 1000.0);
          if (lastPerMille_.exchange(perMille) == perMille) return;
          QMetaObject::invokeMethod(
              this, [this, fraction] { Q_EMIT progressed(fraction); }, Qt::QueuedConnection);
      }) {}

Job::~Job() {
    progress_.cancel();
    if (thread_.joinable()) thread_.join();
}

void Job::start() {
    thread_ = std::thread([this] { run(); });
}

void Job::cancel() {
    progress_.cancel();
}

void Job::run() {
    HandOver handOver;
    std::shared_ptr<const Error> error;
    try {
        handOver = work_(progress_);
    } catch (const Error& e) {
        error = std::make_shared<const Error>(e);
    } catch (const std::bad_alloc&) {
        error = std::make_shared<const Error>(ErrorCode::BadInput,
                                              "The memory does not suffice for this job.",
                                              "Close other programs, or use a coarser scan.");
    } catch (const std::exception& e) {
        error = std::make_shared<const Error>(ErrorCode::Internal,
                                              std::string("The job failed: ") + e.what(),
                                              "Save the stone and try again.");
    }
    // The call is dropped with the object, so a destroyed job hands nothing over.
    QMetaObject::invokeMethod(
        this, [this, handOver, error] { end(handOver, error); }, Qt::QueuedConnection);
}

void Job::end(const HandOver& handOver, const std::shared_ptr<const Error>& error) {
    if (error && error->code() != ErrorCode::Cancelled) {
        Q_EMIT failed(*error);
        return;
    }
    try {
        if (!error && handOver && !cancelled()) handOver();
    } catch (const Error& e) {
        Q_EMIT failed(e);
        return;
    }
    Q_EMIT finished();
}

}  // namespace macle::app
