// Keeper: keeps a draft of the open stone while it has work that is not saved, so that no end of
// the program loses it. Writes on a thread of its own, shortly after an edit; a stone never saved
// is kept from the moment it is opened. The draft goes when the stone is saved or given up.
// Thread contract: GUI thread.
#pragma once

#include <QObject>
#include <QTimer>
#include <condition_variable>
#include <deque>
#include <filesystem>
#include <functional>
#include <memory>
#include <mutex>
#include <thread>

#include "app/window/document.h"
#include "core/archive/draft.h"

namespace macle::app {

class Keeper : public QObject {
    Q_OBJECT
  public:
    Keeper(Document& document, std::filesystem::path folder, QObject* parent = nullptr);
    ~Keeper() override;  // finishes what was asked for; the draft stays unless let go

    const std::filesystem::path& folder() const { return folder_; }

    // The next stone that is opened goes on with this draft.
    void adoptNext(const std::filesystem::path& draft) { next_ = draft; }
    // The work is given up or the program ends in order.
    void letGo();
    // Writes now what waits; returns when it is on the disk.
    void flush();

  Q_SIGNALS:
    void kept();  // the draft holds the present state
    void troubled(const macle::Error& error);

  private:
    void openedAnother();
    void soon();
    void keepNow();
    void post(std::function<void()> work);
    void run();

    Document& document_;
    std::filesystem::path folder_;
    std::filesystem::path next_;
    QTimer timer_;
    bool drafted_ = false;  // asked for a draft of the open stone
    DraftOf of_;

    std::mutex mutex_;
    std::condition_variable wake_;
    std::deque<std::function<void()>> work_;
    bool ending_ = false;
    bool working_ = false;
    std::unique_ptr<Draft> draft_;  // worker only
    bool troubleTold_ = false;      // worker only
    std::thread thread_;
};

}  // namespace macle::app
